import type { Axis } from '../../axis/index.ts';
import { anAxis } from '../../axis/inside.ts';
import { check, number } from '../../input/door.ts';

/** Saturday and Sunday are one kind of day, the others another. */
export function isWeekend(weekday: number): boolean {
  return weekday >= 6;
}

/**
 * The past days most like `day`, most like first: of its kind (weekend or not) before others, the recent before the
 * older.
 *
 * @param before only days with an index under this, all of whose intervals are known
 * @throws InputError on days that the axis doesn't have
 */
export function likeDays(axis: Axis, day: number, before: number, count: number): number[] {
  check({ axis, count }, { axis: anAxis, count: number({ whole: true, least: 0 }) });
  const { length } = axis.calendar.days;
  check(
    { day, before },
    {
      day: number({ whole: true, least: 0, most: length - 1 }),
      before: number({ whole: true, least: 0, most: length }),
    },
  );
  const { days } = axis.calendar;
  const weekend = isWeekend(days[day]!.weekday);
  const found: number[] = [];
  for (let d = before - 1; d >= 0 && found.length < count; d--)
    if (isWeekend(days[d]!.weekday) === weekend) found.push(d);
  for (let d = before - 1; d >= 0 && found.length < count; d--) if (!found.includes(d)) found.push(d);
  return found;
}

/** The last days before `before`, the latest first: weather keeps no week. */
export function lastDays(before: number, count: number): number[] {
  const found: number[] = [];
  for (let d = before - 1; d >= 0 && found.length < count; d--) found.push(d);
  return found;
}

/** Copies a past day's values onto intervals `[first, end)` of another day, by position in the day. */
export function copyDay(
  axis: Axis,
  source: number,
  target: number,
  first: number,
  end: number,
  values: Float64Array,
  out: Float64Array,
  at: number,
): void {
  const from = axis.calendar.days[source]!;
  const to = axis.calendar.days[target]!;
  // A day cut short at the axis' start holds the end of it; one of a clock change has an hour more or less.
  const shift = from.firstInterval === 0 ? from.intervals - to.intervals : 0;
  for (let i = first; i < end; i++) {
    let k = i - to.firstInterval + shift;
    if (k < 0) k = 0;
    else if (k >= from.intervals) k = from.intervals - 1;
    out[at + i - first] = values[from.firstInterval + k]!;
  }
}
