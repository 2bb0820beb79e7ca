import type { CountedCharges, Term, Value } from './term.ts';

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
  /** Adds what the multipliers make of the prices, and returns the constant that goes with them. */
  apply(change: PriceChange): number;
  /** Whether a group's multiplier should rise (1), fall (−1) or stay (0), given the term's value under a schedule. */
  direction(value: V, group: number): number;
  /** Called after every change of the multipliers: brings those that depend on each other in line. */
  settle(): void;
}

/** Adds counted prices to a change, each group's times a factor. */
export function addCountedPrices(
  group: Int32Array,
  counted: CountedCharges,
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

/** A surplus is worth no more in a later group than in the one that it comes from: lowers multipliers to that. */
export function neverRising(multiplier: Float64Array, next: Int32Array): void {
  for (let g = 0; g < next.length; g++) {
    const n = next[g]!;
    if (n >= 0 && multiplier[n]! > multiplier[g]!) multiplier[n] = multiplier[g]!;
  }
}
