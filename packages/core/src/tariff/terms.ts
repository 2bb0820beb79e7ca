/**
 * The parts of a bill that aren't a price times an interval's energy. Amounts are all-in: taxes and riders that fall
 * on them are already in their numbers, so that the unrounded bill is
 * `Σ import · importPrice − Σ export · exportPrice + Σ terms`. Bill, optimum and marginal price read these alone.
 */
export type BillTerm = FixedTerm | TierTerm | DemandTerm | NettingTerm | RebateTerm | MinimumTerm | CarryTerm;

interface TermBase {
  readonly name: string;
  /** The group of each interval, −1 none: a billing period, or a part of one (a window, a version, a day). */
  readonly group: Int32Array;
  readonly groups: number;
  /** The billing period that each group's amount falls on: an index into the tariff's `periods`. */
  readonly period: Int32Array;
  /** The term never makes the bill's slope fall as import grows or export shrinks. */
  readonly convex: boolean;
  /** The same groups by cell, where no cell lies in two of them: sums of a bill are made from sums of cells. */
  readonly byCell?: { readonly cells: Cells; readonly group: Int32Array };
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

/** An amount that a group costs whatever the flows. `group` is −1 everywhere: only `period` matters. */
export interface FixedTerm extends TermBase {
  readonly kind: 'fixed';
  /** Money a group. */
  readonly amount: Float64Array;
}

/**
 * Blocks of a group's energy: what a kWh costs (or, for export, earns) above the interval's price once earlier
 * blocks are full. `Σ_k adder_k · (kWh of the group that fall in block k)`, subtracted for export.
 */
export interface TierTerm extends TermBase {
  readonly kind: 'tier';
  /**
   * `netted`: what a netting term bills of import after export and carried energy were taken off.
   */
  readonly flow: 'import' | 'export' | 'netted';
  /** For `netted`: the index of that term in the list that this one stands in, and the tier group of each of its groups. */
  readonly netting?: { readonly term: number; readonly tierGroup: Int32Array };
  /** Upper bounds of each group's blocks, kWh, rising; the last is Infinity. */
  readonly upToKwh: readonly Float64Array[];
  /** Each block's price less the interval's price; 0 in the first block. */
  readonly adderPerKwh: readonly Float64Array[];
}

/**
 * A price on a group's highest mean import power.
 *
 * Intervals are averaged in blocks of `averagingSteps`: block b holds the intervals `i` with
 * `floor((i − phaseSteps) / averagingSteps) = b`, aligned to the local clock. A block counts for a group with the
 * energy of those of its intervals that are in the group, over the block's full time. The group's measured kW is the
 * highest block, or the mean of the highest block of its `highestDays` highest local days; its billed kW is
 * `max(scale · measured, minimumKw, ratchet)`, and costs `pricePerKw` each, or the fee of the step that it falls in.
 */
export interface DemandTerm extends TermBase {
  readonly kind: 'demand';
  /** Money a billed kW, a group. */
  readonly pricePerKw: Float64Array;
  /** Steps of the axis that are averaged. */
  readonly averagingSteps: number;
  /** First interval of the first whole block, 0 … averagingSteps − 1. */
  readonly phaseSteps: number;
  /** 1: the maximum. n: the mean of the n highest daily maxima (of all days where there are fewer). */
  readonly highestDays: number;
  /** Billed kW a measured kW: 1, or 1 ÷ power factor where kVA are billed. */
  readonly scale: number;
  /** kW billed at least, a group. */
  readonly minimumKw: Float64Array;
  /** Billed kW is at least `share` of the highest measured kW (scaled) of `groups[g]`, and of `historyKw[g]` from before the axis. */
  readonly ratchet?: {
    readonly share: number;
    readonly groups: readonly Int32Array[];
    readonly historyKw: Float64Array;
  };
  /** Capacity steps in place of `pricePerKw`: the fee of the first step with kW ≤ `upToKw`, times the group's `share`. */
  readonly steps?: {
    readonly upToKw: Float64Array;
    readonly amount: Float64Array;
    readonly share: Float64Array;
  };
}

/**
 * Import and export of a group offset each other in kWh before they are priced. In the intervals of a group import
 * stands at `pricePerKwh` (or more, where charges on gross import come on top) and export at `pricePerKwh`; with
 * `net = import − export` and `in` the kWh carried into the group, the group is billed `due = max(0, net − in)` and
 * leaves `left = max(0, in − net)`, which goes to the group `next`, or settles. The term's amount is
 * `pricePerKwh · (due − net)`, less `surplusPerKwh · left` where it settles.
 */
export interface NettingTerm extends TermBase {
  readonly kind: 'netting';
  readonly pricePerKwh: Float64Array;
  /** The group that a surplus carries into (always a later index), −1: it settles. */
  readonly next: Int32Array;
  /** Worth of a kWh of surplus where it settles. */
  readonly surplusPerKwh: Float64Array;
  /** kWh that the group starts with, from before the axis. */
  readonly carriedInKwh: Float64Array;
}

/**
 * Pay for using less than usual in an event: `−pricePerKwh · max(0, baseline − import)` of the event's intervals,
 * baseline = `baselineKwh` + the mean over `references` of the import in those stretches.
 */
export interface RebateTerm extends TermBase {
  readonly kind: 'rebate';
  readonly pricePerKwh: Float64Array;
  readonly baselineKwh: Float64Array;
  /** Stretches `[first, end)` of the reference days, flattened, a group: their mean is taken over `length / 2`. */
  readonly references: readonly Int32Array[];
}

/** A part of the bill, priced as the whole is: what a minimum or a carried credit looks at. */
export interface CountedCharges {
  readonly importPricePerKwh: Float64Array;
  readonly exportPricePerKwh: Float64Array;
  readonly terms: readonly BillTerm[];
  /**
   * The same prices by cell, and the series that stand on top of them with the weight that each has: a bill reads these
   * where it has the arrays' sums at hand.
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

/** The counted charges of a group (a billing period) come to this at least: `share · max(0, amount − counted)`. */
export interface MinimumTerm extends TermBase {
  readonly kind: 'minimum';
  readonly amount: Float64Array;
  /** What a unit of top-up costs with the taxes on it, a group. */
  readonly share: Float64Array;
  readonly counted: CountedCharges;
}

/**
 * Credit left over in a billing period carries on in money. With `q` the counted charges of a group and `in` the
 * money carried into it, `due = max(0, q − in)` is paid and `left = max(0, in − q)` goes to `next`, or settles at
 * `settleShare` of its worth (0: forfeited). The term's amount is `due − q`, less `settleShare · left` where it settles.
 */
export interface CarryTerm extends TermBase {
  readonly kind: 'carry';
  readonly counted: CountedCharges;
  readonly next: Int32Array;
  readonly settleShare: Float64Array;
  readonly carriedIn: Float64Array;
}
