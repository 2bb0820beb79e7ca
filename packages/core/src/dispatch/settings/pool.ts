import type { Half, Tried } from './tries.ts';

/** Schedules that were tried with one charging power, by part of the year. */
export interface Pool {
  readonly gridChargeKw: number;
  readonly tried: readonly (readonly Tried[])[];
  /** Whole weeks that a search begins with, beside the cheapest of each part of the year. */
  weeks(half: Half): readonly (readonly Tried[])[];
}

/** The one that costs least there; the first of equals. */
export function leastOf(tried: readonly Tried[], half: number, by: 'cost' | 'energy' = 'cost'): Tried {
  return tried.reduce((best, other) => (other[by][half]! < best[by][half]! - 1e-9 ? other : best));
}

/** Those whose bill is no more than so much above that of the best. What entering windows must earn beside is no money that is paid. */
export function nearest(tried: readonly Tried[], half: 0 | 1 | 2, best: Tried, tie: number): Tried[] {
  const billed = ({ cost, entered }: Tried) => cost[half] - entered[half];
  return tried.filter((one) => billed(one) <= billed(best) + tie + 1e-9);
}
