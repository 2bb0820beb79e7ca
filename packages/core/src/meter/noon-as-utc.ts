import type { Axis } from '../axis/index.ts';
import { startMsOf } from '../axis/inside.ts';

/** Where labels that were read as another clock are read as UTC, the middle of a day of sun has to stand here. */
const SURE_NOON = { from: 10, to: 15.5 };

/** Whether an hour of the labels would be about noon if they were UTC and read as local time: the offset is added once more. */
export function isNoonAsUtc(axis: Axis, hour: number): boolean {
  const i = axis.intervals >> 1;
  const utc = new Date(startMsOf(axis, i));
  const offsetHours = axis.calendar.minuteOfDay[i]! / 60 - utc.getUTCHours() - utc.getUTCMinutes() / 60;
  const local = (hour + offsetHours + 48) % 24;
  return local >= SURE_NOON.from && local <= SURE_NOON.to;
}
