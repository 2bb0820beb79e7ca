import { startMsOf } from '../../axis/inside.ts';
import type { IntervalSeries } from '../series.ts';
import { noNightOf } from '../solar-shape.ts';
import { type MeteringFault, meteringFault } from './fault.ts';

/** The middle of a day of sun, on the clock: roofs to the east and west, daylight saving time, the edges of wide zones. */
const NOON = { from: 8.5, to: 16.5 };
/** After a shift it has to be a better one than that. */
const SURE_NOON = { from: 10, to: 15.5 };

/**
 * What is sold follows the sun's arc, but about another hour than noon: the labels keep another clock than the home's, mostly UTC. Then
 * sun seems to be sold at night and the home's own draw at noon, as if the two were exchanged. `checkClock` measures smaller shifts where solar
 * is metered and the place is known; a day of sun that goes on past midnight looks centred to it.
 *
 * @returns whether it was told
 */
export function checkClockElsewhere(series: IntervalSeries, faults: MeteringFault[]): boolean {
  const { axis, exportKwh, solarKwh } = series;
  const given = solarKwh ?? exportKwh;
  if (given === undefined || noNightOf(series, given)?.arc !== true) return false;
  const isIn = (hour: number, { from, to }: typeof NOON) => hour >= from && hour <= to;
  const read = middleHour(series, given, 0);
  if (isIn(read, NOON)) return false;
  // Labels of UTC that were read as local time: the offset has to be added once more.
  const i = axis.intervals >> 1;
  const utc = new Date(startMsOf(axis, i));
  const offsetHours = axis.calendar.minuteOfDay[i]! / 60 - utc.getUTCHours() - utc.getUTCMinutes() / 60;
  const isUtc = isIn(middleHour(series, given, offsetHours), SURE_NOON);
  faults.push(
    meteringFault(
      'clock-elsewhere',
      { channel: solarKwh === undefined ? 'export' : 'solar', middleHour: read, isUtc },
      { confidence: isUtc ? 'sure' : 'likely', count: axis.intervals },
    ),
  );
  return true;
}

/** The middle of a channel's day, hours from midnight: the mean direction of its energy round the clock. */
function middleHour({ axis }: IntervalSeries, values: Float64Array, shiftHours: number): number {
  let [x, y] = [0, 0];
  for (let i = 0; i < values.length; i++) {
    if (Number.isNaN(values[i]!)) continue;
    const angle = ((axis.calendar.minuteOfDay[i]! / 60 + axis.stepHours / 2 + shiftHours) * Math.PI) / 12;
    x += values[i]! * Math.cos(angle);
    y += values[i]! * Math.sin(angle);
  }
  return ((Math.atan2(y, x) * 12) / Math.PI + 24) % 24;
}
