import type { Axis } from '../../axis/index.ts';
import type { CompiledTariff } from '../../tariff/index.ts';

/** What a sheet is judged apart on: odd and even weeks, or odd and even billing periods. */
export type Apart = 'weeks' | 'billing-periods';

/**
 * From so many days on weeks are taken whatever the tariff: they share out seasons evenly, and what they teach differs so little then that two
 * sheets in one period spoil next to nothing: 1 % of the savings at the most (docs/concepts/dispatch.md).
 */
const YEAR_DAYS = 330;

/** A half that holds less of a schedule's days than this share says little of the other. */
const LEAST_SHARE = 0.25;

/**
 * What to judge apart on. Where a bill of less than a year has demand charges, blocks, netting or a minimum, two sheets in one billing period spoil
 * each other: the peak of one week is paid for in all. So whole periods are taken, as far as both halves have a fair part
 * of each schedule's days, and each period stands on its own: not where credits carry on into the next.
 *
 * @param members the intervals of each schedule
 */
export function apartOf(tariff: CompiledTariff, members: readonly Int32Array[]): Apart {
  if (tariff.axis.calendar.days.length >= YEAR_DAYS) return 'weeks';
  if (tariff.terms.every((term) => term.kind === 'fixed')) return 'weeks';
  if (tariff.terms.some((term) => 'next' in term && term.next.some((g) => g >= 0))) return 'weeks';
  const inOdd = halvesOf(tariff, 'billing-periods');
  return members.every((of) => {
    const odd = of.reduce((count, i) => count + inOdd[i]!, 0);
    return Math.min(odd, of.length - odd) >= LEAST_SHARE * of.length;
  })
    ? 'billing-periods'
    : 'weeks';
}

/** 1 in the odd half, 0 in the even one. */
export function halvesOf({ axis, period }: Pick<CompiledTariff, 'axis' | 'period'>, apart: Apart): Uint8Array {
  return apart === 'weeks' ? oddWeeks(axis) : Uint8Array.from(period, (p) => p % 2);
}

/** 1 in odd weeks of the axis, counted from its first day as week 0. */
export function oddWeeks({ calendar: { day, days } }: Axis): Uint8Array {
  const first = days[0]!.civilDay;
  return Uint8Array.from(day, (d) => Math.floor((days[d]!.civilDay - first) / 7) % 2);
}
