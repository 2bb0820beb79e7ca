import type { Axis, PeriodSpan } from '../axis/index.ts';
import type { Schedule } from './schedule.ts';
import type { Billing } from './tariff.ts';

/** A share of something, kept as a fraction so that bills can be exact: `times ÷ per`. */
export interface Share {
  readonly times: number;
  readonly per: number;
}

/** Days of each billing period that the axis covers, by version, season and month. */
export interface PeriodDays {
  readonly covered: readonly (readonly {
    readonly version: number;
    readonly season: number;
    /** 1 … 12. */
    readonly month: number;
    readonly days: number;
  }[])[];
  /** Versions with covered days in each period, in order. */
  readonly versions: readonly (readonly number[])[];
  /** Version and season on the last day of each period that the axis has. */
  readonly last: readonly { readonly version: number; readonly season: number }[];
  /** Days of each period, covered or not. */
  readonly length: readonly number[];
  /** How days become shares of a month. */
  readonly billing: Pick<Billing, 'monthDays' | 'monthDecimals'>;
}

export function countPeriodDays(
  axis: Axis,
  spans: readonly PeriodSpan[],
  schedule: Schedule,
  billing: Billing,
): PeriodDays {
  const { days } = axis.calendar;
  const firstDay = days[0]!.civilDay;
  // A day's index is its civil day less the first one's, unless the zone skipped a date (Samoa, 30 December 2011).
  const indexOf = new Map(days.map((day, d) => [day.civilDay, d]));
  const index = (civilDay: number): number => {
    const d = civilDay - firstDay;
    return days[d]?.civilDay === civilDay ? d : (indexOf.get(civilDay) ?? -1);
  };
  const covered = spans.map((span) => {
    const parts = new Map<number, number>();
    for (let civilDay = span.coveredStart; civilDay <= span.coveredEnd; civilDay++) {
      const d = index(civilDay);
      if (d < 0) continue;
      const key = (schedule.dayVersion[d]! * 32 + schedule.daySeason[d]!) * 16 + days[d]!.month;
      parts.set(key, (parts.get(key) ?? 0) + 1);
    }
    return [...parts].map(([key, count]) => ({
      version: key >> 9,
      season: (key >> 4) & 31,
      month: key & 15,
      days: count,
    }));
  });
  return {
    covered,
    versions: covered.map((parts) => [...new Set(parts.map((part) => part.version))].sort((a, b) => a - b)),
    last: spans.map((span) => {
      const d = Math.max(0, index(Math.min(span.endDay, days[days.length - 1]!.civilDay)));
      return { version: schedule.dayVersion[d]!, season: schedule.daySeason[d]! };
    }),
    length: spans.map((span) => span.endDay - span.startDay + 1),
    billing: { monthDays: billing.monthDays, monthDecimals: billing.monthDecimals },
  };
}

/** Covered days of a period in a version whose season and month are in the masks. */
export function coveredDays(
  days: PeriodDays,
  period: number,
  version: number,
  seasonMask: number,
  monthMask = 0xfff,
): number {
  let sum = 0;
  for (const part of days.covered[period]!)
    if (part.version === version && (seasonMask >> part.season) & 1 && (monthMask >> (part.month - 1)) & 1)
      sum += part.days;
  return sum;
}

/** Sum of a number a season over the same days, of any month. */
export function sumOverDays(
  days: PeriodDays,
  period: number,
  version: number,
  perSeason: readonly number[],
  seasonMask: number,
): number {
  let sum = 0;
  for (const part of days.covered[period]!)
    if (part.version === version && (seasonMask >> part.season) & 1) sum += part.days * perSeason[part.season]!;
  return sum;
}

/** Days that a bill may be off whole months and is still billed by them: common practice, no source. */
const SLACK_DAYS = 5;

/**
 * Whole months that a bill of so many days is of: the nearest number where it lies within five days of them, one where it is
 * shorter than a month; undefined where it is of no whole number.
 */
function wholeMonths(days: number): number | undefined {
  const months = Math.max(1, Math.round((12 * days) / 365.25));
  const off = days - (months * 365.25) / 12;
  return off > SLACK_DAYS || (months > 1 && off < -SLACK_DAYS) ? undefined : months;
}

/** Billing months that so many days of a period make: of its whole months, else of 365.25 ÷ 12 days, or of `monthDays`. */
export function monthShare(days: PeriodDays, period: number, count: number): Share {
  const { monthDays, monthDecimals } = days.billing;
  const length = days.length[period]!;
  if (monthDays === undefined) {
    const months = wholeMonths(length);
    return months === undefined ? { times: 48 * count, per: 1461 } : { times: count * months, per: length };
  }
  if (monthDecimals === undefined) return { times: count, per: monthDays };
  const scale = 10 ** monthDecimals;
  return { times: Math.round((count / monthDays) * scale) / scale, per: 1 };
}
