import { offsetSpans } from './zone.ts';

/** The local calendar of every interval, read at the interval's start. */
export interface Calendar {
  /** Minute of the local day, 0 … 1439. */
  readonly minuteOfDay: Int16Array;
  /** ISO weekday: 1 Monday … 7 Sunday. */
  readonly weekday: Uint8Array;
  /** 1 … 12. */
  readonly month: Uint8Array;
  /** Index into {@link days}. */
  readonly day: Int32Array;
  /** The local dates that the axis touches, in order. */
  readonly days: readonly LocalDay[];
}

/** One local date of an axis. */
export interface LocalDay {
  readonly year: number;
  /** 1 … 12. */
  readonly month: number;
  /** 1 … 31. */
  readonly dayOfMonth: number;
  /** ISO weekday: 1 Monday … 7 Sunday. */
  readonly weekday: number;
  /** Days since 1970-01-01, of the civil calendar: subtract two to count days between dates. */
  readonly civilDay: number;
  /** First interval that starts on this date. */
  readonly firstInterval: number;
  /** Intervals that start on this date: more or fewer on the day of a clock change. */
  readonly intervals: number;
}

const DAY_MS = 86_400_000;

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

/** The local calendar of `intervals` steps from `startEpochMs`: one look at the zone an offset change, integers after. */
export function makeCalendar(startEpochMs: number, stepMs: number, intervals: number, zone: string): Calendar {
  const minuteOfDay = new Int16Array(intervals);
  const weekday = new Uint8Array(intervals);
  const month = new Uint8Array(intervals);
  const day = new Int32Array(intervals);
  const days: (LocalDay & { intervals: number })[] = [];
  const spans = offsetSpans(zone, startEpochMs, startEpochMs + intervals * stepMs);

  let dayIndex = -1;
  let civilDay = Number.NEGATIVE_INFINITY;
  let currentMonth = 0;
  let currentWeekday = 0;
  let i = 0;
  for (let s = 0; s < spans.length; s++) {
    const offsetMs = spans[s]!.offsetMinutes * 60_000;
    const spanEndMs = s + 1 < spans.length ? spans[s + 1]!.fromEpochMs : Number.POSITIVE_INFINITY;
    for (; i < intervals; i++) {
      const epochMs = startEpochMs + i * stepMs;
      if (epochMs >= spanEndMs) break;
      const localMs = epochMs + offsetMs;
      const localDay = Math.floor(localMs / DAY_MS);
      // A clock set back over midnight (it has happened) repeats part of a date: that stays one day of the axis.
      if (localDay > civilDay) {
        civilDay = localDay;
        dayIndex++;
        const date = dateOfCivilDay(localDay);
        currentMonth = date.month;
        currentWeekday = weekdayOfCivilDay(localDay);
        days.push({ ...date, weekday: currentWeekday, civilDay: localDay, firstInterval: i, intervals: 0 });
      }
      minuteOfDay[i] = Math.floor((localMs - localDay * DAY_MS) / 60_000);
      weekday[i] = currentWeekday;
      month[i] = currentMonth;
      day[i] = dayIndex;
    }
  }
  for (let d = 0; d < days.length; d++) {
    const end = d + 1 < days.length ? days[d + 1]!.firstInterval : intervals;
    days[d]!.intervals = end - days[d]!.firstInterval;
  }
  return { minuteOfDay, weekday, month, day, days };
}

/** `2026-03-08` */
export function formatDate(date: { year: number; month: number; dayOfMonth: number }): string {
  return `${String(date.year).padStart(4, '0')}-${String(date.month).padStart(2, '0')}-${String(date.dayOfMonth).padStart(2, '0')}`;
}
