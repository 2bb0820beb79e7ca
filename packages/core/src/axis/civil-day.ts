import { check, number, type Rule, record, report } from '../input/door.ts';

const aYear = number({ whole: true, least: -200_000, most: 200_000 });
const aMonth = number({ whole: true, least: 1, most: 12 });
const aDayOfMonth = number({ whole: true, least: 1, most: 31 });
/** A day of the years that {@link civilDayOf} knows. */
export const aCivilDay = number({ whole: true, least: -73_100_000, most: 73_100_000 });

/** A date such as "2026-03-31" that the calendar has. */
export const aDate: Rule = (value, path, looking) => {
  const parts = typeof value === 'string' ? /^(\d{4})-(\d{2})-(\d{2})$/.exec(value) : null;
  const [year, month, day] = (parts ?? []).slice(1).map(Number);
  if (parts !== null && isInCalendar(year!, month!, day!)) return;
  report(looking, path, value === undefined ? 'missing' : 'not-a-date', value, 'a date such as "2026-03-31"');
};

/** 28 … 31. */
export function daysInMonth(year: number, month: number): number {
  if (month === 2) return year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0) ? 29 : 28;
  return month === 4 || month === 6 || month === 9 || month === 11 ? 30 : 31;
}

/** Whether the calendar has such a day: no 30 February, no month 13. */
export function isInCalendar(year: number, month: number, dayOfMonth: number): boolean {
  return month >= 1 && month <= 12 && dayOfMonth >= 1 && dayOfMonth <= daysInMonth(year, month);
}

/**
 * Days since 1970-01-01 of a date of the proleptic Gregorian calendar.
 * @param dayOfMonth 1 … 31: a day that the month doesn't have counts on into the next
 * @throws InputError `out-of-range` on other than whole numbers of that range, and a year within 200,000 of 0
 * @see Howard Hinnant, "chrono-Compatible Low-Level Date Algorithms", days_from_civil
 */
export function civilDayOf(year: number, month: number, dayOfMonth: number): number {
  // Asked for row by row: the door is opened only where something is wrong.
  const good = Number.isInteger(year) && Math.abs(year) <= 200_000 && Number.isInteger(month) && month >= 1;
  if (!good || month > 12 || !(Number.isInteger(dayOfMonth) && dayOfMonth >= 1 && dayOfMonth <= 31))
    check({ year, month, dayOfMonth }, { year: aYear, month: aMonth, dayOfMonth: aDayOfMonth });
  const y = month <= 2 ? year - 1 : year;
  const era = Math.floor(y / 400);
  const yearOfEra = y - era * 400;
  const dayOfYear = Math.floor((153 * (month + (month > 2 ? -3 : 9)) + 2) / 5) + dayOfMonth - 1;
  const dayOfEra = yearOfEra * 365 + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100) + dayOfYear;
  return era * 146_097 + dayOfEra - 719_468;
}

/**
 * The civil day number of a date such as "2026-03-31".
 * @throws InputError `not-a-date`
 */
export function civilDayOfDate(date: string): number {
  check({ date }, { date: aDate });
  return civilDayOf(Number(date.slice(0, 4)), Number(date.slice(5, 7)), Number(date.slice(8, 10)));
}

/**
 * The date of a civil day number: the inverse of {@link civilDayOf}.
 * @throws InputError `out-of-range`
 */
export function dateOfCivilDay(civilDay: number): { year: number; month: number; dayOfMonth: number } {
  if (!Number.isInteger(civilDay) || Math.abs(civilDay) > 73_100_000) check({ civilDay }, { civilDay: aCivilDay });
  const z = civilDay + 719_468;
  const era = Math.floor(z / 146_097);
  const dayOfEra = z - era * 146_097;
  const yearOfEra = Math.floor(
    (dayOfEra - Math.floor(dayOfEra / 1460) + Math.floor(dayOfEra / 36_524) - Math.floor(dayOfEra / 146_096)) / 365,
  );
  const dayOfYear = dayOfEra - (365 * yearOfEra + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100));
  const shifted = Math.floor((5 * dayOfYear + 2) / 153);
  const month = shifted < 10 ? shifted + 3 : shifted - 9;
  return {
    year: yearOfEra + era * 400 + (month <= 2 ? 1 : 0),
    month,
    dayOfMonth: dayOfYear - Math.floor((153 * shifted + 2) / 5) + 1,
  };
}

/**
 * ISO weekday (1 Monday … 7 Sunday) of a civil day number; 1970-01-01 was a Thursday.
 * @throws InputError `out-of-range`
 */
export function weekdayOfCivilDay(civilDay: number): number {
  if (!Number.isInteger(civilDay) || Math.abs(civilDay) > 73_100_000) check({ civilDay }, { civilDay: aCivilDay });
  return ((((civilDay + 3) % 7) + 7) % 7) + 1;
}

/**
 * `2026-03-08`
 * @throws InputError `out-of-range` | `wrong-type`
 */
export function formatDate(date: { year: number; month: number; dayOfMonth: number }): string {
  check({ date }, { date: record<typeof date>({ year: aYear, month: aMonth, dayOfMonth: aDayOfMonth }) });
  return `${String(date.year).padStart(4, '0')}-${String(date.month).padStart(2, '0')}-${String(date.dayOfMonth).padStart(2, '0')}`;
}

/** Where dates stop rising: the first that isn't after the one before; −1 where all rise. */
export function firstNotAfter(dates: readonly string[]): number {
  return dates.findIndex((date, k) => k > 0 && date <= dates[k - 1]!);
}
