/**
 * Days since 1970-01-01 of a date of the proleptic Gregorian calendar.
 * @see Howard Hinnant, "chrono-Compatible Low-Level Date Algorithms", days_from_civil
 */
export function civilDayOf(year: number, month: number, dayOfMonth: number): number {
  const y = month <= 2 ? year - 1 : year;
  const era = Math.floor(y / 400);
  const yearOfEra = y - era * 400;
  const dayOfYear = Math.floor((153 * (month + (month > 2 ? -3 : 9)) + 2) / 5) + dayOfMonth - 1;
  const dayOfEra = yearOfEra * 365 + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100) + dayOfYear;
  return era * 146_097 + dayOfEra - 719_468;
}

/** The civil day number of a date such as "2026-03-31". */
export function civilDayOfDate(date: string): number {
  return civilDayOf(Number(date.slice(0, 4)), Number(date.slice(5, 7)), Number(date.slice(8, 10)));
}

/** The date of a civil day number: the inverse of {@link civilDayOf}. */
export function dateOfCivilDay(civilDay: number): { year: number; month: number; dayOfMonth: number } {
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

/** ISO weekday (1 Monday … 7 Sunday) of a civil day number; 1970-01-01 was a Thursday. */
export function weekdayOfCivilDay(civilDay: number): number {
  return ((((civilDay + 3) % 7) + 7) % 7) + 1;
}

/** `2026-03-08` */
export function formatDate(date: { year: number; month: number; dayOfMonth: number }): string {
  return `${String(date.year).padStart(4, '0')}-${String(date.month).padStart(2, '0')}-${String(date.dayOfMonth).padStart(2, '0')}`;
}
