import type { Outcome } from '../trial/index.ts';

/** Rounding of a year's sums, as a share of the bill. */
export const ROUNDING = 1e-7;

type Run = Outcome<'bill' | 'energy'>;

/** Whether a run kept the reserve floor in as many intervals, and as nearly, as the best possible does. */
export function keepsAsMuch(run: Outcome, best: Outcome): boolean {
  return run.shortfallIntervals <= best.shortfallIntervals && run.shortfallKwh <= best.shortfallKwh + 1e-9;
}

/**
 * Whether a run is of the same home as the best possible, so that it is a share of it: with a battery, no less of the floor
 * kept, no more load left unserved. What came by another floor under the bound is no share either.
 */
export function isLikeBest(run: Run, best: Outcome<'bill' | 'energy' | 'bound'>): boolean {
  if (run.withoutPlant || !keepsAsMuch(run, best)) return false;
  if (run.energy.unservedKwh > best.energy.unservedKwh + 1e-9) return false;
  const { billTotal } = best.bound;
  return run.bill.unrounded > billTotal - ROUNDING * Math.max(1, Math.abs(billTotal));
}

/**
 * The best of the best schedule and of all runs that are of the same home. Where a bill bends, a rule or a sheet of settings
 * may do better than the schedule that the search came to; where the proof is exact nothing does, but lines round, and what is
 * printed as the best may not stand below another row. The run with the least rounded bill, and the least unrounded one.
 */
export function bestFound<R extends Run>(
  best: R & Outcome<'bound'>,
  runs: readonly R[],
): { readonly run: R; readonly unrounded: number } {
  let run: R = best;
  let { unrounded } = best.bill;
  for (const other of runs) {
    if (!isLikeBest(other, best)) continue;
    unrounded = Math.min(unrounded, other.bill.unrounded);
    const less = other.bill.total - run.bill.total;
    if (less < 0 || (less === 0 && other.bill.unrounded < run.bill.unrounded - 1e-9)) run = other;
  }
  return { run, unrounded };
}

/**
 * The most that a battery could have saved, as it is printed: where the bound is reached, the rounded bill of what reaches
 * it, else the bound, which isn't rounded; and no less than what stands beside it, whose bills are rounded line by line.
 *
 * @param beside savings of the runs that are like the best
 */
export function mostSaved(
  plain: Outcome<'bill'>['bill'],
  { bill, bound }: Pick<Outcome<'bill' | 'bound'>, 'bill' | 'bound'>,
  beside: readonly number[],
): number {
  const most = bound.proof === 'exact' ? plain.total - bill.total : plain.unrounded - bound.billTotal;
  return Math.max(most, ...beside);
}
