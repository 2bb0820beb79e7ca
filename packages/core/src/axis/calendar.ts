import { dateOfCivilDay, weekdayOfCivilDay } from './civil-day.ts';
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
