import { formatPath, type InputIssue } from '../input/issue.ts';
import { clockOf } from '../words/figures.ts';
import { quoteName } from '../words/quote.ts';
import { asList, WEEKDAYS } from './vocabulary.ts';

/** Kinds of days: 0 … 6 Monday to Sunday where no holiday, 7 a holiday. */
export const HOLIDAY_KIND = 7;

/** A season mask that holds every season. */
export const ALL_SEASONS = 0x7fffffff;

/** When something holds, as masks and minutes: the hours of a window, a demand charge, an event. */
export interface HourRule {
  /** Bit s: season s. */
  readonly seasonMask: number;
  /** Bit m − 1: month m. */
  readonly monthMask: number;
  /** Bit k: kind of day k. */
  readonly dayMask: number;
  /** Minutes of the local day, `[from, to)`; `to ≤ from` goes on after midnight. */
  readonly from: number;
  readonly to: number;
  /** For the hours after midnight: the mask is asked about the day before. */
  readonly byStartDay: boolean;
  /** Holds where no other rule of its set does. */
  readonly otherwise: boolean;
}

/** A kind of day: what the hours of a set depend on. */
export interface DayKind {
  readonly season: number;
  /** 1 … 12. */
  readonly month: number;
  /** 0 … 7. */
  readonly kind: number;
  /** Kind of the day before. */
  readonly before: number;
}

interface HoursInput {
  readonly seasons?: string | readonly string[] | undefined;
  readonly months?: number | readonly number[] | undefined;
  readonly days?: string | readonly string[] | undefined;
  readonly from?: string | undefined;
  readonly to?: string | undefined;
  readonly daysOf?: 'clock' | 'start' | undefined;
  readonly otherwise?: true | undefined;
}

/** Minutes since midnight of "HH:MM". */
export function minutesOf(clock: string): number {
  return Number(clock.slice(0, 2)) * 60 + Number(clock.slice(3));
}

/** Mask of the names of days. */
export function dayMaskOf(days: string | readonly string[] | undefined): number {
  const names = asList(days);
  if (names.length === 0) return 0xff;
  let mask = 0;
  for (const name of names) {
    if (name === 'all') mask |= 0xff;
    else if (name === 'weekday') mask |= 0b0001_1111;
    else if (name === 'weekend') mask |= 0b0110_0000;
    else if (name === 'holiday') mask |= 0b1000_0000;
    else mask |= 1 << WEEKDAYS.indexOf(name as (typeof WEEKDAYS)[number]);
  }
  return mask;
}

/** Mask of months 1 … 12. */
export function monthMaskOf(months: number | readonly number[] | undefined): number {
  const list = asList(months);
  return list.length === 0 ? 0xfff : list.reduce((mask, month) => mask | (1 << (month - 1)), 0);
}

/** The rule that a file's hours stand for. Season names are known to exist. */
export function hourRule(input: HoursInput, seasonMask: number): HourRule {
  return {
    seasonMask,
    monthMask: monthMaskOf(input.months),
    dayMask: dayMaskOf(input.days),
    from: input.from === undefined ? 0 : minutesOf(input.from),
    to: input.to === undefined ? 1440 : minutesOf(input.to),
    byStartDay: input.daysOf === 'start',
    otherwise: input.otherwise === true,
  };
}

/** Whether a rule holds at a minute of a kind of day. */
export function holds(rule: HourRule, day: DayKind, minute: number): boolean {
  if (((rule.seasonMask >> day.season) & 1) === 0 || ((rule.monthMask >> (day.month - 1)) & 1) === 0) return false;
  const today = (rule.dayMask >> day.kind) & 1;
  if (rule.from < rule.to) return today === 1 && minute >= rule.from && minute < rule.to;
  if (minute >= rule.from) return today === 1;
  if (minute >= rule.to) return false;
  return (rule.byStartDay ? (rule.dayMask >> day.before) & 1 : today) === 1;
}

/** Index of the rule that holds; −1 none. A rule marked `otherwise` gives way to every other. */
export function ruleAt(rules: readonly HourRule[], day: DayKind, minute: number): number {
  let fallback = -1;
  for (let r = 0; r < rules.length; r++) {
    if (!holds(rules[r]!, day, minute)) continue;
    if (!rules[r]!.otherwise) return r;
    if (fallback < 0) fallback = r;
  }
  return fallback;
}

/** Minutes at which a set of rules may change, in order, from 0. */
export function edgesOf(rules: readonly HourRule[]): number[] {
  const edges = new Set([0]);
  for (const rule of rules) {
    edges.add(rule.from % 1440);
    edges.add(rule.to % 1440);
  }
  return [...edges].sort((a, b) => a - b);
}

const KIND_NAMES = [...WEEKDAYS, 'holiday'];

/**
 * Faults of a set of windows that should hold each minute of each kind of day once: gaps and overlaps, each told once
 * with its first example.
 *
 * @param days the kinds of days that occur
 * @param path of the set in the file
 * @param part what the set is made of
 */
export function coverageIssues(
  rules: readonly HourRule[],
  names: readonly string[],
  days: readonly DayKind[],
  seasonNames: readonly string[],
  path: readonly (string | number)[],
  file: string | undefined,
  part: 'window' | 'row' = 'window',
): InputIssue[] {
  const issues: InputIssue[] = [];
  const edges = edgesOf(rules);
  const told = new Set<string>();
  for (const day of days) {
    for (let e = 0; e < edges.length; e++) {
      const minute = edges[e]!;
      const end = edges[e + 1] ?? 1440;
      const strict: number[] = [];
      const loose: number[] = [];
      for (let r = 0; r < rules.length; r++)
        if (holds(rules[r]!, day, minute)) (rules[r]!.otherwise ? loose : strict).push(r);
      const season = seasonNames.length > 1 ? ` in ${seasonNames[day.season]}` : '';
      const when = `${clockOf(minute)}–${clockOf(end)} on a ${KIND_NAMES[day.kind]}${season}`;
      if (strict.length + loose.length === 0) {
        const key = `gap ${minute} ${day.kind === HOLIDAY_KIND ? 'holiday' : day.kind >= 5 ? 'weekend' : 'weekday'} ${day.season}`;
        if (told.has(key)) continue;
        told.add(key);
        issues.push({
          code: 'window-missing',
          where: { file, path },
          received: `no ${part} for ${when}`,
          expected: 'each minute of each kind of day in exactly one window',
          hint:
            day.kind === HOLIDAY_KIND
              ? 'add "holiday" to the days of the window that holds on holidays'
              : 'widen a window, or add one with "otherwise": true for all hours that are left',
        });
      } else if (strict.length > 1 || (strict.length === 0 && loose.length > 1)) {
        const [first, second] = strict.length > 1 ? strict : loose;
        const key = `overlap ${first} ${second}`;
        if (told.has(key)) continue;
        told.add(key);
        const same = strict.length > 1 ? 'from' : 'otherwise';
        issues.push({
          code: 'window-overlap',
          where: { file, path: [...path, second!, same] },
          received: `${quoteName(names[second!]!)} over ${quoteName(names[first!]!)} (${formatPath([...path, first!])}) for ${when}`,
          expected: 'each minute of each kind of day in exactly one window',
          hint: 'move an edge, or narrow the seasons, months or days of one of them',
        });
      }
    }
  }
  return issues;
}
