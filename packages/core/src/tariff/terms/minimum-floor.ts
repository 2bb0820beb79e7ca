import type { BoundContext } from './bound.ts';
import type { DemandTerm } from './demand.ts';
import type { FixedTerm } from './fixed.ts';
import type { MinimumTerm } from './minimum.ts';
import type { NettingTerm } from './netting.ts';
import type { Term } from './term.ts';
import type { TierTerm } from './tier.ts';

/** Prices down to this much below 0 count as 0, money a kWh: weights are products of percentages in binary. */
const HAIR = 1e-9;

/**
 * What a bill with a minimum comes to at least, under any flows: with W the bill without its top-up and C what the minimum
 * counts of it, `W + share · max(0, amount − C) ≥ share · amount + (W − share · C)`, and what is left of W is bounded part by
 * part. Undefined where a part can't be.
 */
export function leastByMinimum(
  terms: readonly Term[],
  importPricePerKwh: Float64Array,
  exportPricePerKwh: Float64Array,
  { rangeKwh }: Pick<BoundContext, 'rangeKwh'>,
): number | undefined {
  const at = terms.findIndex(({ kind }) => kind === ('minimum' satisfies MinimumTerm['kind']));
  // What stands after it counts it.
  if (at < 0 || at !== terms.length - 1) return undefined;
  const { group, groups, amount, share, counted } = terms[at]! as MinimumTerm;
  const shareOf = (period: number) => (period >= 0 && period < groups ? share[period]! : 0);
  let least = 0;
  for (let g = 0; g < groups; g++) least += share[g]! * amount[g]!;
  const importLeft = importPricePerKwh.map((price, i) => price - shareOf(group[i]!) * counted.importPricePerKwh[i]!);
  const exportLeft = exportPricePerKwh.map((price, i) => price - shareOf(group[i]!) * counted.exportPricePerKwh[i]!);
  for (let t = 0; t < at; t++) {
    const own = counted.terms[t];
    // Terms that were put together by hand may count fewer.
    if (own === undefined) return undefined;
    const part = leftOfTerm(terms[t]!, own, shareOf);
    if (part === undefined) return undefined;
    least += part.constant;
    // Netted energy costs its price where it is due and nothing less than its settlement where it isn't: taken off the flows.
    for (let i = 0; part.perKwh !== undefined && i < group.length; i++) {
      const g = terms[t]!.group[i]!;
      if (g < 0) continue;
      importLeft[i] = importLeft[i]! - part.perKwh[g]!;
      exportLeft[i] = exportLeft[i]! - part.perKwh[g]!;
    }
    if (part.settled !== undefined) {
      const { mostKwh } = rangeKwh('export', terms[t]!.group, terms[t]!.groups);
      least -= part.settled.mostPerKwh * (part.settled.carriedKwh + mostKwh.reduce((sum, kwh) => sum + kwh, 0));
    }
  }
  const ofFlow = (flow: 'import' | 'export', costs: Float64Array) => {
    const lowest = new Float64Array(groups);
    for (let i = 0; i < group.length; i++) {
      if (group[i]! < 0) {
        if (costs[i]! < -HAIR) return Number.NEGATIVE_INFINITY;
      } else lowest[group[i]!] = Math.min(lowest[group[i]!]!, costs[i]!);
    }
    if (lowest.every((cost) => cost >= -HAIR)) return 0;
    const { mostKwh } = rangeKwh(flow, group, groups);
    return lowest.reduce((sum, cost, g) => sum + cost * mostKwh[g]!, 0);
  };
  least +=
    ofFlow('import', importLeft) +
    ofFlow(
      'export',
      exportLeft.map((price) => -price),
    );
  return Number.isFinite(least) ? least : undefined;
}

interface Left {
  readonly constant: number;
  readonly perKwh?: Float64Array;
  readonly settled?: { readonly mostPerKwh: number; readonly carriedKwh: number };
}

/** What is left of a term at least, once `share` of what is counted of it is taken off; undefined where it can't be told. */
function leftOfTerm(whole: Term, counted: Term, shareOf: (period: number) => number): Left | undefined {
  const { kind, period } = whole;
  const left = (price: Float64Array, less: Float64Array) =>
    price.map((each, g) => each - shareOf(period[g]!) * less[g]!);
  const none: Left = { constant: 0 };
  if (kind === ('fixed' satisfies FixedTerm['kind'])) {
    const amounts = left((whole as FixedTerm).amount, (counted as FixedTerm).amount);
    return { constant: amounts.reduce((sum, money) => sum + money, 0) };
  }
  if (kind === ('demand' satisfies DemandTerm['kind'])) {
    const { steps, pricePerKw } = whole as DemandTerm;
    const most = Math.max(0, ...Array.from(period, shareOf));
    if (steps !== undefined) {
      const fees = (counted as DemandTerm).steps!.amount;
      return steps.amount.every((fee, k) => fee - most * fees[k]! >= -HAIR && fees[k]! >= 0) ? none : undefined;
    }
    return left(pricePerKw, (counted as DemandTerm).pricePerKw).every((price) => price >= -HAIR) ? none : undefined;
  }
  if (kind === ('tier' satisfies TierTerm['kind'])) {
    const { adderPerKwh, flow } = whole as TierTerm;
    const less = (counted as TierTerm).adderPerKwh;
    const dearer = adderPerKwh.every((adders, g) =>
      adders.every((adder, k) => adder - shareOf(period[g]!) * less[g]![k]! >= -HAIR),
    );
    return dearer && flow !== 'export' ? none : undefined;
  }
  if (kind === ('netting' satisfies NettingTerm['kind'])) {
    const { pricePerKwh, surplusPerKwh, next, carriedInKwh } = whole as NettingTerm;
    const perKwh = left(pricePerKwh, (counted as NettingTerm).pricePerKwh);
    if (perKwh.some((price) => price < -HAIR)) return undefined;
    const settles = left(surplusPerKwh, (counted as NettingTerm).surplusPerKwh).filter((_, g) => next[g]! < 0);
    const carriedKwh = carriedInKwh.reduce((sum, kwh) => sum + kwh, 0);
    return { constant: 0, perKwh, settled: { mostPerKwh: Math.max(0, ...settles), carriedKwh } };
  }
  return undefined;
}
