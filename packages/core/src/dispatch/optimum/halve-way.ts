import type { BillTerm } from '../../tariff/index.ts';
import type { BoundContext, PriceChange } from '../../tariff/terms/bound.ts';
import type { MinimumTerm } from '../../tariff/terms/minimum.ts';
import { leastByMinimum } from '../../tariff/terms/minimum-floor.ts';
import type { Schedule } from './forward.ts';
import type { StepProblem } from './problem.ts';

/** Halvings of the way between two schedules. */
const HALVINGS = 8;

/** What a minimum bill takes off the prices where all of it is owed. */
export function allOwed({ group, share, counted }: MinimumTerm): PriceChange {
  const off = (price: Float64Array) => price.map((money, i) => (group[i]! < 0 ? 0 : -share[group[i]!]! * money));
  return { importPerKwh: off(counted.importPricePerKwh), exportPerKwh: off(counted.exportPricePerKwh) };
}

/**
 * Halves the way from what was found to another schedule, towards the cheaper side: where a minimum bill counts what has no
 * price, no price leads to a schedule between.
 * @param along the schedule along a path of stored energy
 * @param isBetter looks at a schedule, and says whether it is the best so far
 */
export function halveWay(
  foundKwh: Float64Array,
  other: Schedule,
  along: (path: Float64Array) => Schedule,
  isBetter: (schedule: Schedule) => boolean,
): void {
  const better = isBetter(other);
  let from = better ? other.socKwh : foundKwh;
  let to = better ? foundKwh : other.socKwh;
  for (let k = 0; k < HALVINGS; k++) {
    const middle = from.map((kwh, i) => 0.5 * (kwh + to[i]!));
    if (isBetter(along(middle))) from = middle;
    else to = middle;
  }
}

/** What a minimum bill leaves of it: the bill, less what may be left in the store. */
export function leastCost(steps: StepProblem, terms: readonly BillTerm[], context: BoundContext): number {
  const { importPricePerKwh, exportPricePerKwh, intervals, highKwh, floorKwh, finalValuePerKwh } = steps;
  const least = leastByMinimum(terms, importPricePerKwh, exportPricePerKwh, context);
  if (least === undefined) return Number.NEGATIVE_INFINITY;
  return least - Math.max(0, finalValuePerKwh * Math.max(0, highKwh[intervals - 1]! - floorKwh[intervals - 1]!));
}
