import { median } from 'simple-statistics';
import { offsetMinutesIn, startMsOf } from '../../axis/inside.ts';
import { DAY_MS, MINUTE_MS } from '../durations.ts';
import type { IntervalSeries } from '../series.ts';
import { type MeteringFault, meteringFault } from './fault.ts';
import type { SolarDay } from './sun.ts';

/** The middle of each day's generation, against solar noon. */
export function checkClock(
  series: IntervalSeries,
  days: readonly SolarDay[] | undefined,
  faults: MeteringFault[],
): void {
  const { solarKwh, axis } = series;
  if (solarKwh === undefined) return;
  const { calendar } = axis;
  const standard: number[] = [];
  const summer: number[] = [];
  const beyond: number[] = [];
  let standardOffset = Number.POSITIVE_INFINITY;
  for (const day of calendar.days) standardOffset = Math.min(standardOffset, offsetMinutesIn(axis, day.firstInterval));
  let most = 0;
  for (const value of solarKwh) if (value > most) most = value;
  for (let d = 0; d < calendar.days.length; d++) {
    const day = calendar.days[d]!;
    const from = day.firstInterval;
    const to = from + day.intervals;
    let first = -1;
    let last = -1;
    let energy = 0;
    for (let i = from; i < to; i++) {
      const value = solarKwh[i]!;
      if (Number.isNaN(value)) {
        first = -1;
        break;
      }
      energy += value;
      // A few watts of an inverter's own use are no sunlight.
      if (value > most * 0.004) {
        if (first < 0) first = i;
        last = i;
      }
    }
    if (first < 0 || energy < most * 2) continue;
    const startMs = startMsOf(axis, first);
    const endMs = startMsOf(axis, last + 1);
    const middle = (startMs + endMs) / 2;
    const sun = days?.[d];
    // Without a place the zone's own clock stands in for solar noon: good enough to compare seasons.
    const noon = sun?.noonMs ?? day.civilDay * DAY_MS + DAY_MS / 2 - standardOffset * MINUTE_MS;
    const late = (middle - noon) / MINUTE_MS;
    const isSummer = offsetMinutesIn(axis, first) > standardOffset;
    (isSummer ? summer : standard).push(late);
    if (sun !== undefined && !Number.isNaN(sun.sunriseMs))
      beyond.push(Math.max(sun.sunriseMs - startMs, endMs - sun.sunsetMs) / MINUTE_MS - axis.stepMinutes);
  }
  const enough = standard.length >= 20 && summer.length >= 20;
  if (enough) {
    const difference = median(summer) - median(standard);
    const placed = days === undefined || Math.abs(median(standard)) < 40;
    if (Math.abs(difference) > 35 && Math.abs(difference) < 90 && placed) {
      faults.push(
        meteringFault(
          'clock-without-dst',
          { lateMinutes: difference },
          {
            confidence: days === undefined ? 'likely' : 'sure',
            fix: { flag: '--clock standard', adjustment: {} },
            count: summer.length,
          },
        ),
      );
      return;
    }
  }
  const both = [...standard, ...summer];
  if (days === undefined || both.length < 20) return;
  const late = median(both);
  const rounded = Math.round(late / 30) * 30;
  // Arrays that face east or west, and hills, move the middle by up to half an hour.
  if (Math.abs(late) < 40) return;
  const night = beyond.length > 0 ? median(beyond) : 0;
  faults.push(
    meteringFault(
      'clock-shifted',
      { lateMinutes: late, ...(night > 15 ? { darkMinutes: night } : {}) },
      {
        confidence: night > 15 ? 'sure' : Math.abs(late) > 50 ? 'likely' : 'possible',
        fix: { flag: `--shift ${-rounded}`, adjustment: { shiftMinutes: -rounded } },
        count: both.length,
      },
    ),
  );
}
