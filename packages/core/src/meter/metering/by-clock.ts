import type { Axis } from '../../axis/index.ts';

/** Of the days, those on which an hour that is off is nothing, and at most on which another is: the sun has clouds, and people holidays. */
const OFF_SHARE = 0.9;
const ON_SHARE = 0.1;
/** Of hours off: no shorter errand, and no longer than a roof that is large for its home carries it each day of the year at the equator. */
const OFF_HOURS = { least: 2, most: 9 };
/** Days of a weekend that tell whether it is off as well. */
const FEWEST_WEEKEND_DAYS = 6;
/** So many days have both solstices: from 15 degrees north or south on, an hour and more between the longest day and the shortest. */
const YEAR_DAYS = 330;
/** By hours the sun looks steady at the equator: there it takes shorter steps to tell. */
const YEAR_STEP_MINUTES = 30;

/**
 * Whether what is drawn is next to nothing by the clock: nobody is at home, or all is switched off, from one hour to another. The sun does
 * neither: it knows no weekday, and comes and goes earlier and later through the year.
 *
 * Told where a few hours of the day are off on nearly all weekdays and the others are on; either from Monday to Friday alone, while all
 * hours of the weekends are on, or to the step at the same time of day all year.
 *
 * @param nothing kWh an interval, up to which nothing counts
 */
export function isByClock(axis: Axis, drawn: Float64Array, nothing: number): boolean {
  const { weekday, days } = axis.calendar;
  const isWeekend = (i: number) => weekday[i]! > 5;
  const course = (counts: (i: number) => boolean, minutes: number) => courseOf(axis, drawn, nothing, counts, minutes);
  if (offIn(course((i) => !isWeekend(i), 60)) === undefined) return false;
  const weekendDays = days.filter(({ firstInterval }) => isWeekend(firstInterval)).length;
  if (weekendDays >= FEWEST_WEEKEND_DAYS && course(isWeekend, 60).every((share) => share <= ON_SHARE)) return true;
  if (days.length < YEAR_DAYS || axis.stepMinutes > YEAR_STEP_MINUTES) return false;
  return offIn(course(() => true, axis.stepMinutes)) !== undefined;
}

/** Of each so many minutes of the day, the share of their readings that are nothing. */
function courseOf(
  { calendar }: Axis,
  drawn: Float64Array,
  nothing: number,
  counts: (i: number) => boolean,
  minutes: number,
): Float64Array {
  const bins = Math.ceil((24 * 60) / minutes);
  const [off, known] = [new Float64Array(bins), new Float64Array(bins)];
  for (let i = 0; i < drawn.length; i++) {
    if (Number.isNaN(drawn[i]!) || !counts(i)) continue;
    const bin = Math.floor(calendar.minuteOfDay[i]! / minutes);
    known[bin]!++;
    if (drawn[i]! <= nothing) off[bin]!++;
  }
  return off.map((count, bin) => (known[bin]! > 0 ? count / known[bin]! : 0));
}

/** The one run of a day's bins that are off, where none but one at either end is in between. */
function offIn(course: Float64Array): { readonly from: number; readonly to: number } | undefined {
  const from = course.findIndex((share) => share >= OFF_SHARE);
  const to = course.findLastIndex((share) => share >= OFF_SHARE) + 1;
  const hours = ((to - from) / course.length) * 24;
  if (from <= 0 || to >= course.length || hours < OFF_HOURS.least || hours > OFF_HOURS.most) return undefined;
  const isSteady = course.every((share, bin) => {
    if (bin >= from && bin < to) return share >= OFF_SHARE;
    return share <= ON_SHARE || bin === from - 1 || bin === to;
  });
  return isSteady ? { from, to } : undefined;
}
