import type { BillTerm } from '../../tariff/index.ts';
import type { BoundContext, Multiplied, PeakPrice } from '../../tariff/terms/bound.ts';
import { kindOf } from '../../tariff/terms/registry.ts';
import { leastCost } from './halve-way.ts';
import type { TakenPeak } from './mixture.ts';
import type { StepProblem } from './problem.ts';
import { quantityRange } from './quantity-range.ts';

/** A bill with a bound in place of each of its terms. */
export interface Relaxation {
  readonly multiplied: readonly { readonly part: Multiplied; readonly term: number }[];
  /** Peak charges that bound from below, and as they stand. */
  readonly peaks: readonly { readonly term: number; readonly peak: PeakPrice }[];
  readonly fullPeaks: readonly PeakPrice[];
  readonly constant: number;
  /** What all comes to at least by a minimum bill. */
  readonly least: number;
  /** Nothing was bounded loosely. */
  readonly exact: boolean;
  /** Some term's true slope may lie elsewhere than the bound's. */
  readonly steep: boolean;
}

/** Which of the peak charges each part takes from, and what. */
export function takenOff(
  parts: readonly Multiplied[],
  peaks: Relaxation['peaks'],
  before: number,
): readonly (readonly TakenPeak[])[] {
  return parts.map(({ peaks: own = [] }) =>
    own.flatMap(({ term, perKwh, group }) => {
      const at = peaks.findIndex((peak) => peak.term === term);
      return at < 0 ? [] : [{ peak: before + at, perKwh, group }];
    }),
  );
}

/** Peak charges at the prices that the multipliers leave of them. */
export function withoutTaken(
  peaks: readonly PeakPrice[],
  parts: readonly Multiplied[],
  taken: readonly (readonly TakenPeak[])[],
): readonly PeakPrice[] {
  if (taken.every((list) => list.length === 0)) return peaks;
  const prices = peaks.map(({ pricePerKwh }) => pricePerKwh.slice());
  for (const [k, list] of taken.entries())
    for (const { peak, perKwh, group } of list) {
      const price = prices[peak]!;
      for (let g = 0; g < price.length; g++)
        price[g] = Math.max(0, price[g]! - (parts[k]!.multiplier[group[g]!] ?? 0) * perKwh[g]!);
    }
  return peaks.map((peak, c) => ({ ...peak, pricePerKwh: prices[c]! }));
}

/** A bound for each term: what has the form of a price or of a peak charge, and costs no more than the term does. */
export function relax(
  steps: StepProblem,
  terms: readonly BillTerm[],
  stepHours: number,
  soldKwh: Float64Array | undefined,
): Relaxation {
  const context: BoundContext = {
    stepHours,
    terms,
    rangeKwh: (flow, group, groups) => {
      const range = quantityRange(steps, flow, group, groups);
      // What is sold in any case lies in its group at the least and at the most.
      if (flow === 'export')
        soldKwh?.forEach((kwh, i) => {
          if (group[i]! < 0) return;
          range.leastKwh[group[i]!]! += kwh;
          range.mostKwh[group[i]!]! += kwh;
        });
      return range;
    },
    mostImportKwh: (i) => Math.max(0, steps.netLoadKwh[i]!) + steps.chargeLimitKwh[i]!,
  };
  const bounds = terms.map((term) => kindOf(term).bound(term, context));
  let constant = 0;
  for (const bound of bounds) constant += bound.constant;
  return {
    multiplied: bounds.flatMap(({ multiplied }, term) =>
      multiplied === undefined ? [] : [{ part: multiplied, term }],
    ),
    peaks: bounds.flatMap(({ peak }, term) => (peak === undefined ? [] : [{ term, peak: peak.bound }])),
    fullPeaks: bounds.flatMap(({ peak }) => (peak === undefined ? [] : [peak.full])),
    constant,
    least: bounds.every(({ exact }) => exact) ? Number.NEGATIVE_INFINITY : leastCost(steps, terms, context),
    exact: bounds.every((bound) => bound.exact),
    steep: bounds.some((bound) => bound.steep),
  };
}
