import type { Runs } from '../runs.ts';

/**
 * A part of a bill that isn't a price times an interval's energy. Amounts are all-in: the taxes and riders that fall on
 * them are already in their numbers, so that the unrounded bill is
 * `Σ import · importPrice − Σ export · exportPrice + Σ terms`. Bill, optimum and marginal price read these alone.
 *
 * Each kind has a file in this folder: its parameters, how it comes from a tariff, what it comes to, its lines on the
 * bill, its slope, and the bound that the optimum puts under it.
 */
export interface Term {
  readonly kind: string;
  readonly name: string;
  /** The group of each interval, −1 none: a billing period, or a part of one (a window, a version, a day). */
  readonly group: Int32Array;
  readonly groups: number;
  /** The billing period that each group's amount falls on: an index into the tariff's `periods`. */
  readonly period: Int32Array;
  /** The bill's slope never falls as import grows or export shrinks because of this term. */
  readonly convex: boolean;
  /** The same groups by cell, where no cell lies in two of them: sums of a bill are made from sums of cells. */
  readonly byCell?: { readonly cells: Cells; readonly group: Int32Array };
  /** Stretches of `group`, found once; a term that was put together by hand may leave them out. */
  readonly runs?: Runs;
}

/** What a term comes to. Each kind adds the quantities that its amount rests on. */
export interface Value {
  /** Money of each group. */
  readonly amount: Float64Array;
}

/** Stretches of intervals that a tariff treats alike: a cell is a slot of its schedule in one billing period. */
export interface Cells {
  /** Run r: intervals `[runStart[r], runStart[r + 1])`, all of one cell. */
  readonly runStart: Int32Array;
  readonly runCell: Int32Array;
  /** Billing period and slot of each cell. */
  readonly period: Int32Array;
  readonly slot: Int32Array;
  /** First interval of each billing period, and the end of the last. */
  readonly periodStart: Int32Array;
}

/** A part of the bill, priced as the whole is: what a minimum bill or a carried credit is measured against. */
export interface CountedCharges {
  readonly importPricePerKwh: Float64Array;
  readonly exportPricePerKwh: Float64Array;
  readonly terms: readonly Term[];
  /**
   * The same prices by cell, without price series; and the series, each with its weight in the import and the export
   * price. A bill multiplies these by sums of energy that it has already.
   */
  readonly byCell?: {
    readonly cells: Cells;
    readonly importPricePerKwh: Float64Array;
    readonly exportPricePerKwh: Float64Array;
    readonly series: readonly {
      readonly prices: Float64Array;
      readonly importWeight: number;
      readonly exportWeight: number;
    }[];
  };
}
