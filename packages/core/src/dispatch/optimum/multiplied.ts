import type { BillTerm, CarryTerm, MinimumTerm, NettingTerm, TermValue, TierTerm } from '../../tariff/index.ts';

/** Changes of price that multipliers make, money a kWh an interval. */
export interface PriceChange {
  readonly importPerKwh: Float64Array;
  readonly exportPerKwh: Float64Array;
}

/**
 * A term that bends, replaced by a straight one that lies under it: each group's multiplier says how much one more
 * unit of its quantity counts. The straight terms' sum, with the best multipliers, is the sharpest bound of its kind.
 */
export interface Multiplied {
  readonly multiplier: Float64Array;
  /** Range of each multiplier that is still open. */
  readonly low: Float64Array;
  readonly high: Float64Array;
  /** Adds what the multipliers make of the prices, and returns the constant that goes with them. */
  apply(change: PriceChange): number;
  /** Whether each multiplier should rise (1), fall (−1) or stay (0), seen a schedule's value of the term. */
  direction(value: TermValue, group: number): number;
  /** Called after every change: ties between groups. */
  settle(): void;
}

/** Blocks that get dearer: between the cheapest and the dearest adder. */
export function multipliedTier(term: TierTerm): Multiplied {
  const sign = term.flow === 'export' ? -1 : 1;
  const { groups, group, upToKwh, adderPerKwh } = term;
  const low = new Float64Array(groups);
  const high = new Float64Array(groups);
  for (let g = 0; g < groups; g++) {
    const adders = adderPerKwh[g]!;
    low[g] = sign * adders[0]!;
    high[g] = sign * adders[adders.length - 1]!;
  }
  const multiplier = low.slice();
  return {
    multiplier,
    low,
    high,
    settle() {},
    apply(change) {
      const prices = sign > 0 ? change.importPerKwh : change.exportPerKwh;
      for (let i = 0; i < group.length; i++) {
        const g = group[i]!;
        if (g >= 0) prices[i] = prices[i]! + sign * multiplier[g]!;
      }
      let constant = 0;
      for (let g = 0; g < groups; g++) {
        // least of cost(q) − multiplier · q: at a block's edge
        let least = 0;
        let cost = 0;
        let before = 0;
        const bounds = upToKwh[g]!;
        for (let k = 0; k < bounds.length - 1; k++) {
          cost += sign * adderPerKwh[g]![k]! * (bounds[k]! - before);
          before = bounds[k]!;
          least = Math.min(least, cost - multiplier[g]! * before);
        }
        constant += least;
      }
      return constant;
    },
    direction(value, g) {
      const quantity = value.quantity[g]!;
      const bounds = upToKwh[g]!;
      let k = 0;
      while (k < bounds.length - 1 && quantity > bounds[k]!) k++;
      const below = sign * adderPerKwh[g]![k]!;
      const edge = Math.abs(quantity - bounds[k]!) < 1e-9 && k < bounds.length - 1;
      const above = edge ? sign * adderPerKwh[g]![k + 1]! : below;
      if (multiplier[g]! < below) return 1;
      return multiplier[g]! > above ? -1 : 0;
    },
  };
}

/** Energy credit that carries on: what a kWh of it is worth, never more later than earlier. */
export function multipliedNetting(term: NettingTerm): Multiplied {
  const { groups, group, pricePerKwh, next, surplusPerKwh, carriedInKwh } = term;
  const low = new Float64Array(groups);
  const high = pricePerKwh.slice();
  for (let g = groups - 1; g >= 0; g--) low[g] = Math.min(high[g]!, next[g]! >= 0 ? low[next[g]!]! : surplusPerKwh[g]!);
  const multiplier = high.slice();
  const floor = low.slice();
  return {
    multiplier,
    low,
    high,
    settle() {
      for (let g = 0; g < groups; g++) {
        const n = next[g]!;
        if (n >= 0 && multiplier[n]! > multiplier[g]!) multiplier[n] = multiplier[g]!;
      }
    },
    apply(change) {
      for (let i = 0; i < group.length; i++) {
        const g = group[i]!;
        if (g < 0) continue;
        change.importPerKwh[i] = change.importPerKwh[i]! + multiplier[g]! - pricePerKwh[g]!;
        change.exportPerKwh[i] = change.exportPerKwh[i]! + multiplier[g]! - pricePerKwh[g]!;
      }
      let constant = 0;
      for (let g = 0; g < groups; g++) constant -= multiplier[g]! * carriedInKwh[g]!;
      return constant;
    },
    direction(value, g) {
      if (value.due[g]! > 1e-9) return multiplier[g]! < pricePerKwh[g]! ? 1 : 0;
      if (value.left[g]! <= 1e-9) return 0;
      const towards = next[g]! >= 0 ? multiplier[next[g]!]! : floor[g]!;
      return Math.sign(towards - multiplier[g]!);
    },
  };
}

/** A minimum bill over energy and fixed charges: how much of the minimum counts, 0 … 1. Undefined where others count. */
export function multipliedMinimum(term: MinimumTerm): Multiplied | undefined {
  const fixed = fixedAmounts(term.counted.terms, term.groups);
  if (fixed === undefined) return undefined;
  const { groups, group, amount, share, counted } = term;
  const multiplier = new Float64Array(groups);
  return {
    multiplier,
    low: new Float64Array(groups),
    high: new Float64Array(groups).fill(1),
    settle() {},
    apply(change) {
      countPrices(group, counted, change, (g) => -share[g]! * multiplier[g]!);
      let constant = 0;
      for (let g = 0; g < groups; g++) constant += share[g]! * multiplier[g]! * (amount[g]! - fixed[g]!);
      return constant;
    },
    direction(value, g) {
      const lack = amount[g]! - value.quantity[g]!;
      if (Math.abs(lack) < 1e-9) return 0;
      return lack > 0 ? (multiplier[g]! < 1 ? 1 : 0) : multiplier[g]! > 0 ? -1 : 0;
    },
  };
}

/** Money credit that carries on, over energy and fixed charges: its worth, 0 … 1, never more later than earlier. */
export function multipliedCarry(term: CarryTerm): Multiplied | undefined {
  const fixed = fixedAmounts(term.counted.terms, term.groups);
  if (fixed === undefined) return undefined;
  const { groups, group, counted, next, settleShare, carriedIn } = term;
  const low = new Float64Array(groups);
  for (let g = groups - 1; g >= 0; g--) low[g] = next[g]! >= 0 ? low[next[g]!]! : settleShare[g]!;
  const floor = low.slice();
  const multiplier = new Float64Array(groups).fill(1);
  return {
    multiplier,
    low,
    high: new Float64Array(groups).fill(1),
    settle() {
      for (let g = 0; g < groups; g++) {
        const n = next[g]!;
        if (n >= 0 && multiplier[n]! > multiplier[g]!) multiplier[n] = multiplier[g]!;
      }
    },
    apply(change) {
      countPrices(group, counted, change, (g) => multiplier[g]! - 1);
      let constant = 0;
      for (let g = 0; g < groups; g++) constant += (multiplier[g]! - 1) * fixed[g]! - multiplier[g]! * carriedIn[g]!;
      return constant;
    },
    direction(value, g) {
      if (value.due[g]! > 1e-9) return multiplier[g]! < 1 ? 1 : 0;
      if (value.left[g]! <= 1e-9) return 0;
      const towards = next[g]! >= 0 ? multiplier[next[g]!]! : floor[g]!;
      return Math.sign(towards - multiplier[g]!);
    },
  };
}

function countPrices(
  group: Int32Array,
  counted: { readonly importPricePerKwh: Float64Array; readonly exportPricePerKwh: Float64Array },
  change: PriceChange,
  factor: (group: number) => number,
): void {
  for (let i = 0; i < group.length; i++) {
    const g = group[i]!;
    if (g < 0) continue;
    const f = factor(g);
    change.importPerKwh[i] = change.importPerKwh[i]! + f * counted.importPricePerKwh[i]!;
    change.exportPerKwh[i] = change.exportPerKwh[i]! + f * counted.exportPricePerKwh[i]!;
  }
}

/** Fixed charges a period; undefined where a term depends on the flows. */
function fixedAmounts(terms: readonly BillTerm[], periods: number): Float64Array | undefined {
  const sums = new Float64Array(periods);
  for (const term of terms) {
    if (term.kind !== 'fixed') return undefined;
    for (let g = 0; g < term.amount.length; g++) {
      const p = term.period[g]!;
      if (p >= 0 && p < periods) sums[p] = sums[p]! + term.amount[g]!;
    }
  }
  return sums;
}
