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

/** A convex cost of a quantity: its corners, and the slope after each of them, which rises. */
export interface BlockCost {
  readonly atKwh: Float64Array;
  readonly cost: Float64Array;
  /** As many as corners where the last goes on for ever, one less (but one at least) where the range ends with it. */
  readonly slopePerKwh: Float64Array;
}

/** Costs of blocks, corner by corner: the first at nothing, then the end of each block but the last. */
export function blockCosts(term: TierTerm): BlockCost[] {
  const sign = term.flow === 'export' ? -1 : 1;
  return term.upToKwh.map((bounds, g) => {
    const slopePerKwh = term.adderPerKwh[g]!.map((adder) => sign * adder);
    const atKwh = new Float64Array(bounds.length);
    const cost = new Float64Array(bounds.length);
    for (let k = 1; k < bounds.length; k++) {
      atKwh[k] = bounds[k - 1]!;
      cost[k] = cost[k - 1]! + slopePerKwh[k - 1]! * (atKwh[k]! - atKwh[k - 1]!);
    }
    return { atKwh, cost, slopePerKwh };
  });
}

/** The convex envelope of blocks in any order over [leastKwh, mostKwh]: the highest convex cost that lies under them. */
export function envelopeOf({ atKwh, cost, slopePerKwh }: BlockCost, leastKwh: number, mostKwh: number): BlockCost {
  const costAt = (kwh: number) => {
    let k = 0;
    while (k < atKwh.length - 1 && kwh > atKwh[k + 1]!) k++;
    return cost[k]! + slopePerKwh[k]! * (kwh - atKwh[k]!);
  };
  // Lower hull, left to right.
  const x = [leastKwh];
  const y = [costAt(leastKwh)];
  const slopes: number[] = [];
  const add = (kwh: number) => {
    const value = costAt(kwh);
    for (;;) {
      const j = x.length - 1;
      const slope = (value - y[j]!) / (kwh - x[j]!);
      if (j > 0 && slope <= slopes[j - 1]!) {
        x.pop();
        y.pop();
        slopes.pop();
        continue;
      }
      x.push(kwh);
      y.push(value);
      slopes.push(slope);
      return;
    }
  };
  for (const kwh of atKwh) if (kwh > x[x.length - 1]! && kwh < mostKwh) add(kwh);
  if (mostKwh > leastKwh) add(mostKwh);
  return {
    atKwh: Float64Array.from(x),
    cost: Float64Array.from(y),
    slopePerKwh: Float64Array.from(slopes.length > 0 ? slopes : [0]),
  };
}

/** Blocks that get dearer, or what lies under those that do not: between the cheapest and the dearest slope. */
export function multipliedTier(term: TierTerm, costs: readonly BlockCost[] = blockCosts(term)): Multiplied {
  const sign = term.flow === 'export' ? -1 : 1;
  const { groups, group } = term;
  const low = Float64Array.from(costs, ({ slopePerKwh }) => slopePerKwh[0]!);
  const high = Float64Array.from(costs, ({ slopePerKwh }) => slopePerKwh[slopePerKwh.length - 1]!);
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
        // least of cost(q) − multiplier · q: at a corner
        const { atKwh, cost } = costs[g]!;
        let least = Number.POSITIVE_INFINITY;
        for (let k = 0; k < atKwh.length; k++) least = Math.min(least, cost[k]! - multiplier[g]! * atKwh[k]!);
        constant += least;
      }
      return constant;
    },
    direction(value, g) {
      const quantity = value.quantity[g]!;
      const { atKwh, slopePerKwh } = costs[g]!;
      const last = slopePerKwh.length - 1;
      let k = 0;
      while (k < last && quantity > atKwh[k + 1]!) k++;
      const below = slopePerKwh[k]!;
      const edge = k < last && Math.abs(quantity - atKwh[k + 1]!) < 1e-9;
      const above = edge ? slopePerKwh[k + 1]! : below;
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
