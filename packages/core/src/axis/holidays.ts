import { check, list, number, oneOf, optional, type Rule, record, text } from '../input/door.ts';
import { aCivilDay, civilDayOf, dateOfCivilDay, weekdayOfCivilDay } from './civil-day.ts';

/**
 * Where a holiday is kept that falls on a weekend. `nearest-weekday`: Saturday's on Friday, Sunday's on Monday.
 * `sunday-to-monday`: Sunday's on Monday, Saturday's on its day. `next-weekday`: on the next weekday that is no
 * holiday already. The day that it is moved from is then a weekend day like any other.
 */
export type ObservedRule = 'none' | 'nearest-weekday' | 'sunday-to-monday' | 'next-weekday';

/** Which date a holiday falls on in a year. */
export type HolidayDate =
  | { readonly kind: 'date'; readonly month: number; readonly dayOfMonth: number }
  /** The nth (1 … 5) or last (−1) weekday of a month. */
  | { readonly kind: 'nth-weekday'; readonly month: number; readonly weekday: number; readonly nth: number }
  /** The last such weekday on or before a date, or the first on or after it. */
  | {
      readonly kind: 'weekday-near';
      readonly month: number;
      readonly dayOfMonth: number;
      readonly weekday: number;
      readonly side: 'on-or-before' | 'on-or-after';
    }
  /** Days after Easter Sunday (−2 Good Friday, 1 Easter Monday). */
  | { readonly kind: 'easter'; readonly offsetDays: number; readonly church: 'western' | 'orthodox' }
  | { readonly kind: 'days'; readonly civilDays: readonly number[] };

/** One holiday and the years that it is kept in. */
export interface HolidayRule {
  readonly name: string;
  readonly on: HolidayDate;
  readonly observed: ObservedRule;
  /** First and last year, by the date before it is moved. */
  readonly sinceYear?: number;
  readonly untilYear?: number;
}

const whole = (least: number, most: number) => number({ whole: true, least, most });
/** Years for which the rules of Easter hold. */
const aYear = whole(1, 9999);
const aMonth = whole(1, 12);
const aWeekday = whole(1, 7);

/** What each kind of date needs beside its kind. */
const DATE_FIELDS: Record<HolidayDate['kind'], Rule> = {
  date: record({ month: aMonth, dayOfMonth: whole(1, 31) }),
  'nth-weekday': record({ month: aMonth, weekday: aWeekday, nth: oneOf([-1, 1, 2, 3, 4, 5]) }),
  'weekday-near': record({
    month: aMonth,
    dayOfMonth: whole(1, 31),
    weekday: aWeekday,
    side: oneOf(['on-or-before', 'on-or-after']),
  }),
  easter: record({ offsetDays: whole(-366, 366), church: oneOf(['western', 'orthodox']) }),
  days: record({ civilDays: list(aCivilDay) }),
};

const aHolidayDate: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  record<{ kind: string }>({ kind: oneOf(Object.keys(DATE_FIELDS)) })(value, path, looking);
  if (looking.issues.length === before) DATE_FIELDS[(value as HolidayDate).kind](value, path, looking);
};

const aHoliday = record<HolidayRule>({
  name: text,
  on: aHolidayDate,
  observed: oneOf(['none', 'nearest-weekday', 'sunday-to-monday', 'next-weekday']),
  sinceYear: optional(number()),
  untilYear: optional(number()),
});

/** Longest time that holidays are looked up over, days: a thousand years. */
const LONGEST_DAYS = 366_000;

/**
 * The days on which holidays are kept, from civil day `from` to `to` inclusive, each with its name. The years about
 * the range are looked at too: New Year's Day on a Saturday may be kept in the year before.
 *
 * @throws InputError `out-of-range` | `not-allowed`: `to` before `from` or a thousand years after it, a year before 2
 */
export function holidayDays(rules: readonly HolidayRule[], from: number, to: number): Map<number, string> {
  // Civil days of the years 2 to 9998: the year before and the year after are looked at too.
  check({ rules, from }, { rules: list(aHoliday), from: whole(-718_797, 2_932_166) });
  check({ to }, { to: whole(from, Math.min(from + LONGEST_DAYS, 2_932_166)) });
  const kept = new Map<number, string>();
  const moving: { day: number; name: string }[] = [];
  const firstYear = dateOfCivilDay(from).year - 1;
  const lastYear = dateOfCivilDay(to).year + 1;
  for (const rule of rules) {
    for (const day of rawDays(rule.on, firstYear, lastYear)) {
      const year = dateOfCivilDay(day).year;
      if (year < (rule.sinceYear ?? year) || year > (rule.untilYear ?? year)) continue;
      const weekday = weekdayOfCivilDay(day);
      if (rule.observed === 'next-weekday' && weekday >= 6) moving.push({ day, name: rule.name });
      else kept.set(day + shift(rule.observed, weekday), rule.name);
    }
  }
  moving.sort((a, b) => a.day - b.day);
  for (const { day, name } of moving) {
    let target = day + 1;
    while (weekdayOfCivilDay(target) >= 6 || kept.has(target)) target++;
    kept.set(target, name);
  }
  const inRange = [...kept].filter(([day]) => day >= from && day <= to);
  return new Map(inRange.sort((a, b) => a[0] - b[0]));
}

function shift(observed: ObservedRule, weekday: number): number {
  if (weekday === 7 && (observed === 'nearest-weekday' || observed === 'sunday-to-monday')) return 1;
  if (weekday === 6 && observed === 'nearest-weekday') return -1;
  return 0;
}

function rawDays(on: HolidayDate, firstYear: number, lastYear: number): readonly number[] {
  if (on.kind === 'days') return on.civilDays;
  const days: number[] = [];
  for (let year = firstYear; year <= lastYear; year++) {
    const day = dayInYear(on, year);
    if (day !== undefined) days.push(day);
  }
  return days;
}

function dayInYear(on: Exclude<HolidayDate, { kind: 'days' }>, year: number): number | undefined {
  switch (on.kind) {
    case 'date': {
      const day = civilDayOf(year, on.month, on.dayOfMonth);
      return dateOfCivilDay(day).month === on.month ? day : undefined;
    }
    case 'nth-weekday': {
      if (on.nth > 0) {
        const first = civilDayOf(year, on.month, 1);
        const day = first + ((on.weekday - weekdayOfCivilDay(first) + 7) % 7) + 7 * (on.nth - 1);
        return dateOfCivilDay(day).month === on.month ? day : undefined;
      }
      const last = civilDayOf(on.month === 12 ? year + 1 : year, on.month === 12 ? 1 : on.month + 1, 1) - 1;
      return last - ((weekdayOfCivilDay(last) - on.weekday + 7) % 7);
    }
    case 'weekday-near': {
      const near = civilDayOf(year, on.month, on.dayOfMonth);
      return on.side === 'on-or-before'
        ? near - ((weekdayOfCivilDay(near) - on.weekday + 7) % 7)
        : near + ((on.weekday - weekdayOfCivilDay(near) + 7) % 7);
    }
    case 'easter':
      return (on.church === 'western' ? westernEaster(year) : orthodoxEaster(year)) + on.offsetDays;
  }
}

/**
 * Easter Sunday of the Gregorian calendar, as a civil day.
 * @param year 1 … 9999
 * @throws InputError `out-of-range`
 * @see "A New Computation of Easter", Nature 13 (1876), 487: the anonymous algorithm
 */
export function westernEaster(year: number): number {
  check({ year }, { year: aYear });
  const a = year % 19;
  const b = Math.floor(year / 100);
  const c = year % 100;
  const g = Math.floor((8 * b + 13) / 25);
  const h = (19 * a + b - Math.floor(b / 4) - g + 15) % 30;
  const l = (32 + 2 * (b % 4) + 2 * Math.floor(c / 4) - h - (c % 4)) % 7;
  const m = Math.floor((a + 11 * h + 22 * l) / 451);
  const month = Math.floor((h + l - 7 * m + 114) / 31);
  return civilDayOf(year, month, ((h + l - 7 * m + 114) % 31) + 1);
}

/**
 * Easter Sunday of the Julian calendar, as a civil day of the Gregorian one.
 * @param year 1 … 9999
 * @throws InputError `out-of-range`
 * @see J. Meeus, Astronomical Algorithms, ch. 8
 */
export function orthodoxEaster(year: number): number {
  check({ year }, { year: aYear });
  const d = (19 * (year % 19) + 15) % 30;
  const e = (2 * (year % 4) + 4 * (year % 7) - d + 34) % 7;
  const month = Math.floor((d + e + 114) / 31);
  const julian = civilDayOf(year, month, ((d + e + 114) % 31) + 1);
  return julian + Math.floor(year / 100) - Math.floor(year / 400) - 2;
}
