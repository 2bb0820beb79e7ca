import { both, check, list, number, oneOf, type Rule, record, rising } from '../input/door.ts';
import { type Axis, anAxis } from './axis.ts';
import { aCivilDay, civilDayOf, dateOfCivilDay } from './civil-day.ts';

/** How bills follow one another. */
export type BillingRule =
  | { readonly by: 'calendar-month' }
  /** A period starts on this day of each month, on the last where the month is shorter. */
  | { readonly by: 'cycle-day'; readonly day: number }
  /** Each date starts a period. Before the first and after the last, periods go on at their median length. */
  | { readonly by: 'read-dates'; readonly civilDays: readonly number[] };

/** A billing period as it stands on an axis. Days are civil days; intervals are `[first, end)`. */
export interface PeriodSpan {
  readonly first: number;
  readonly end: number;
  readonly startDay: number;
  /** Last day of the period. */
  readonly endDay: number;
  /** First and last day that the axis covers; `coveredEnd < coveredStart` where it covers less than half a day. */
  readonly coveredStart: number;
  readonly coveredEnd: number;
}

const aBillingRule: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  record<{ by: string }>({ by: oneOf(['calendar-month', 'cycle-day', 'read-dates']) })(value, path, looking);
  if (looking.issues.length > before) return;
  const { by } = value as BillingRule;
  if (by === 'cycle-day')
    record<{ day: number }>({ day: number({ whole: true, least: 1, most: 31 }) })(value, path, looking);
  if (by === 'read-dates')
    record<{ civilDays: unknown }>({ civilDays: both(list(aCivilDay, { least: 1 }), rising) })(value, path, looking);
};

/**
 * The billing periods that an axis touches, in order; together they hold each of its intervals once.
 *
 * @throws InputError `out-of-range`: a day that no month has, dates of readings that don't rise
 */
export function billingPeriods(axis: Axis, rule: BillingRule): PeriodSpan[] {
  check({ axis, rule }, { axis: anAxis, rule: aBillingRule });
  const { days } = axis.calendar;
  const spans: PeriodSpan[] = [];
  // A day at either end counts as covered when at least half of it lies on the axis.
  const halfDay = (12 * 60) / axis.stepMinutes;
  const firstCovered = days[0]!.civilDay + (days[0]!.intervals >= halfDay ? 0 : 1);
  const lastCovered = days[days.length - 1]!.civilDay - (days[days.length - 1]!.intervals >= halfDay ? 0 : 1);
  let index = 0;
  while (index < days.length) {
    const [startDay, endDay] = periodAround(days[index]!.civilDay, rule);
    let next = index;
    while (next < days.length && days[next]!.civilDay <= endDay) next++;
    spans.push({
      first: days[index]!.firstInterval,
      end: next < days.length ? days[next]!.firstInterval : axis.intervals,
      startDay,
      endDay,
      coveredStart: Math.max(startDay, firstCovered),
      coveredEnd: Math.min(endDay, lastCovered),
    });
    index = next;
  }
  return spans;
}

/** First and last day of the period that holds a day. */
function periodAround(civilDay: number, rule: BillingRule): [number, number] {
  if (rule.by === 'read-dates') return periodByReads(civilDay, rule.civilDays);
  const { year, month } = dateOfCivilDay(civilDay);
  const cycleDay = rule.by === 'cycle-day' ? rule.day : 1;
  const here = cycleStart(year, month, cycleDay);
  return civilDay >= here
    ? [here, cycleStart(year, month + 1, cycleDay) - 1]
    : [cycleStart(year, month - 1, cycleDay), here - 1];
}

function cycleStart(year: number, month: number, day: number): number {
  const first = civilDayOf(month > 12 ? year + 1 : month < 1 ? year - 1 : year, ((month + 11) % 12) + 1, 1);
  const next = dateOfCivilDay(first + 31);
  const length = civilDayOf(next.year, next.month, 1) - first;
  return first + Math.min(day, length) - 1;
}

function periodByReads(civilDay: number, reads: readonly number[]): [number, number] {
  const lengths = reads.slice(1).map((day, k) => day - reads[k]!);
  lengths.sort((a, b) => a - b);
  const usual = lengths.length === 0 ? 30 : lengths[lengths.length >> 1]!;
  if (civilDay < reads[0]!) {
    const back = Math.ceil((reads[0]! - civilDay) / usual);
    const start = reads[0]! - back * usual;
    return [start, start + usual - 1];
  }
  const last = reads[reads.length - 1]!;
  if (civilDay >= last) {
    const start = last + Math.floor((civilDay - last) / usual) * usual;
    return [start, start + usual - 1];
  }
  let k = 0;
  while (reads[k + 1]! <= civilDay) k++;
  return [reads[k]!, reads[k + 1]! - 1];
}
