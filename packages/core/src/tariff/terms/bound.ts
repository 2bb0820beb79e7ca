import type { BlockCost } from './envelope.ts';
import type { Term, Value } from './term.ts';

/** Changes of price, money a kWh an interval. */
export interface PriceChange {
  readonly importPerKwh: Float64Array;
  readonly exportPerKwh: Float64Array;
}

/**
 * Something straight in place of a term: under any flows it costs at most as much as the term. The optimum of prices
 * and such bounds is then a lower bound on the optimum of the bill.
 */
export interface Bound<V extends Value = Value> {
  /** Money. */
  readonly constant: number;
  /** A price on each kWh, by way of multipliers that the search for the best bound moves. */
  readonly multiplied?: Multiplied<V>;
  /** A price on the highest import power of each group. */
  readonly peak?: {
    readonly bound: PeakPrice;
    /** The same as the bill has it, where the bound has to be lower. */
    readonly full: PeakPrice;
  };
  /** With the best multipliers the bound comes to as much as the term does at the optimum. */
  readonly exact: boolean;
  /** The term's own slope may differ from the bound's. */
  readonly steep: boolean;
}

/** What a bound may ask of the problem that it is for. */
export interface BoundContext {
  readonly stepHours: number;
  /** The list that the term stands in. */
  readonly terms: readonly Term[];
  /** What each group imports or exports at least and at most under any schedule, kWh. */
  rangeKwh(
    flow: 'import' | 'export',
    group: Int32Array,
    groups: number,
  ): { readonly leastKwh: Float64Array; readonly mostKwh: Float64Array };
  /** What an interval imports at most, kWh. */
  mostImportKwh(interval: number): number;
}

/** A price on the highest mean import of each group of intervals. */
export interface PeakPrice {
  /** Group of each interval, −1 none. */
  readonly group: Int32Array;
  /** Money a kWh of the highest block's mean energy an interval: price a kW ÷ hours of an interval. */
  readonly pricePerKwh: Float64Array;
  /** Billed at least, kWh an interval. */
  readonly leastKwh: Float64Array;
  /** Intervals that are averaged, and the first interval of the first whole block. */
  readonly averagingSteps: number;
  readonly phaseSteps: number;
}

/**
 * A term whose slope changes with its quantity, replaced by one price a group: the group's multiplier says how much one
 * more unit of the quantity counts. With any multipliers in their ranges this costs at most what the term does; the
 * best ones give the highest bound of this form (Lagrangian duality).
 */
export interface Multiplied<V extends Value = Value> {
  readonly multiplier: Float64Array;
  /** Range of each multiplier that is still open. */
  readonly low: Float64Array;
  readonly high: Float64Array;
  /** Group of each interval, −1 none. */
  readonly group: Int32Array;
  /** What a unit of the group's multiplier adds to the prices of an interval: the quantity is what the flows come to at these. */
  readonly importPerUnit: number | Float64Array;
  readonly exportPerUnit: number | Float64Array;
  /** The multipliers at which prices are as they stand. */
  readonly base: Float64Array;
  /** What each group's quantity begins with, whatever the flows. */
  readonly begun: Float64Array;
  /** Money, at multipliers of 0. */
  readonly offset: number;
  /** A cost of each group's quantity that the multiplier stands for, convex: the least of cost − multiplier · quantity is added. */
  readonly costs?: readonly BlockCost[];
  /** Peak charges that a group's quantity has less of: what a unit of its multiplier takes off each of their prices, money a kWh. */
  readonly peaks?: readonly {
    /** The term that the charge bounds. */
    readonly term: number;
    readonly perKwh: Float64Array;
    /** The group here of each group of the charge. */
    readonly group: Int32Array;
  }[];
  /** Blocks that a group's quantity has less of: the share of their cost that a unit of its multiplier takes off. */
  readonly blocks?: readonly {
    /** The term that they are. */
    readonly term: number;
    readonly share: Float64Array;
    /** The group here of each group of the blocks. */
    readonly group: Int32Array;
  }[];
  /** Fees by class of power that a group's quantity has less of, the lowest in `begun`: the share of one that a unit of its multiplier takes off. */
  readonly fees?: readonly {
    /** The term that they are. */
    readonly term: number;
    readonly share: Float64Array;
    /** The group here of each group of the fees. */
    readonly group: Int32Array;
  }[];
  /** The group that a group's quantity may be carried into, −1 none: its multiplier is no higher. */
  readonly next?: Int32Array;
  /** Whether a group's multiplier should rise (1), fall (−1) or stay (0), given the term's value under a schedule. */
  direction(value: V, group: number): number;
}

/**
 * Adds what the multipliers make of the prices, and returns the constant that goes with them.
 *
 * @param left of the part's own costs, a share a group
 */
export function applyMultipliers(part: Multiplied, change: PriceChange, left?: Float64Array): number {
  const { multiplier, group, importPerUnit, exportPerUnit, base, begun, offset, costs } = part;
  for (let i = 0; i < group.length; i++) {
    const g = group[i]!;
    if (g < 0) continue;
    const more = multiplier[g]! - base[g]!;
    change.importPerKwh[i] = change.importPerKwh[i]! + more * perUnit(importPerUnit, i);
    change.exportPerKwh[i] = change.exportPerKwh[i]! + more * perUnit(exportPerUnit, i);
  }
  let constant = offset;
  for (let g = 0; g < multiplier.length; g++) {
    constant += multiplier[g]! * begun[g]!;
    if (costs === undefined) continue;
    // The least lies at a corner.
    const { atKwh, cost } = costs[g]!;
    let least = Number.POSITIVE_INFINITY;
    for (let k = 0; k < atKwh.length; k++)
      least = Math.min(least, (left?.[g] ?? 1) * cost[k]! - multiplier[g]! * atKwh[k]!);
    constant += least;
  }
  return constant;
}

/** One of {@link Multiplied}'s prices a unit in an interval. */
export function perUnit(each: number | Float64Array, i: number): number {
  return typeof each === 'number' ? each : each[i]!;
}

/** Where a quantity of convex cost lies by its multiplier: 1 where that should rise, −1 where it should fall. */
export function directionOfCost({ atKwh, slopePerKwh }: BlockCost, multiplier: number, kwh: number): number {
  const last = slopePerKwh.length - 1;
  let k = 0;
  while (k < last && kwh > atKwh[k + 1]!) k++;
  const below = slopePerKwh[k]!;
  const edge = k < last && Math.abs(kwh - atKwh[k + 1]!) < 1e-9;
  const above = edge ? slopePerKwh[k + 1]! : below;
  if (multiplier < below) return 1;
  return multiplier > above ? -1 : 0;
}

/** A surplus is worth no more in a later group than in the one that it comes from: lowers multipliers to that. */
export function neverRising(multiplier: Float64Array, next: Int32Array): void {
  for (let g = 0; g < next.length; g++) {
    const n = next[g]!;
    if (n >= 0 && multiplier[n]! > multiplier[g]!) multiplier[n] = multiplier[g]!;
  }
}
