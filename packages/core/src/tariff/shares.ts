import type { Axis, PeriodSpan } from '../axis/index.ts';
import type { Schedule } from './schedule.ts';
import type { Billing } from './tariff.ts';

/** A share of something, kept as a fraction so that bills can be exact: `times ÷ per`. */
export interface Share {
  readonly times: number;
  readonly per: number;
}

/** Days of a billing period that the axis covers, by version and season, and the shares of a month that they make. */
export interface PeriodDays {
  /** Covered days of a period in a version whose season and month are in the masks. */
  count(period: number, version: number, seasonMask: number, monthMask?: number): number;
  /** Sum of a number a season over those days. */
  sum(period: number, version: number, perSeason: readonly number[], seasonMask: number): number;
  /** The share of a billing month that so many days of a period make. */
  monthShare(period: number, days: number): Share;
  /** Versions with covered days in a period, in order. */
  versions(period: number): readonly number[];
  /** Version and season on the last day of the period that the axis has. */
  last(period: number): { version: number; season: number };
}

export function makePeriodDays(
  axis: Axis,
  spans: readonly PeriodSpan[],
  schedule: Schedule,
  billing: Billing,
): PeriodDays {
  const { days } = axis.calendar;
  const firstDay = days[0]!.civilDay;
  // A calendar may skip a date (it has happened); then index and civil day part ways, and a look-up is needed.
  const indexOf = new Map(days.map((day, d) => [day.civilDay, d]));
  const index = (civilDay: number): number => {
    const d = civilDay - firstDay;
    return days[d]?.civilDay === civilDay ? d : (indexOf.get(civilDay) ?? -1);
  };
  const tally = spans.map((span) => {
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
      count,
    }));
  });
  const versions = tally.map((parts) => [...new Set(parts.map((part) => part.version))].sort((a, b) => a - b));
  return {
    count(period, version, seasonMask, monthMask = 0xfff) {
      let sum = 0;
      for (const part of tally[period]!)
        if (part.version === version && (seasonMask >> part.season) & 1 && (monthMask >> (part.month - 1)) & 1)
          sum += part.count;
      return sum;
    },
    sum(period, version, perSeason, seasonMask) {
      let sum = 0;
      for (const part of tally[period]!)
        if (part.version === version && (seasonMask >> part.season) & 1) sum += part.count * perSeason[part.season]!;
      return sum;
    },
    monthShare(period, count) {
      if (billing.monthDays === undefined) {
        const span = spans[period]!;
        return { times: count, per: span.endDay - span.startDay + 1 };
      }
      if (billing.monthDecimals === undefined) return { times: count, per: billing.monthDays };
      const scale = 10 ** billing.monthDecimals;
      return { times: Math.round((count / billing.monthDays) * scale) / scale, per: 1 };
    },
    versions: (period) => versions[period]!,
    last(period) {
      const span = spans[period]!;
      const d = Math.max(0, index(Math.min(span.endDay, days[days.length - 1]!.civilDay)));
      return { version: schedule.dayVersion[d]!, season: schedule.daySeason[d]! };
    },
  };
}
