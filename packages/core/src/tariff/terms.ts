/**
 * The parts of a bill that aren't a price times an interval's energy. `group[i]` says which group (a billing
 * period, or a window of one) an interval belongs to, −1 none. `convex` terms never make the bill's slope fall as
 * the quantity grows. Amounts are all-in: taxes and riders that fall on them are already in their numbers.
 */
export type BillTerm = FixedTerm | TierTerm | DemandTerm | NettingTerm | MinimumTerm | PercentTerm;

interface TermBase {
  readonly name: string;
  readonly group: Int32Array;
  readonly groups: number;
  readonly convex: boolean;
}

/** An amount a group costs whatever the flows. */
export interface FixedTerm extends TermBase {
  readonly kind: 'fixed';
  /** Money a group. */
  readonly amount: Float64Array;
}

/** Blocks of a group's energy: what a kWh costs above `importPricePerKwh` once earlier blocks are full. */
export interface TierTerm extends TermBase {
  readonly kind: 'tier';
  readonly flow: 'import' | 'export';
  /** Upper bounds of each group's blocks, kWh, rising; the last is Infinity. */
  readonly upToKwh: readonly Float64Array[];
  /** Each block's price less the interval's price; 0 in the first block. */
  readonly adderPerKwh: readonly Float64Array[];
}

/** A price on a group's highest mean import power. */
export interface DemandTerm extends TermBase {
  readonly kind: 'demand';
  /** Money a kW, a group. */
  readonly pricePerKw: Float64Array;
  /** Steps of the axis that are averaged; blocks are aligned to the local clock. */
  readonly averagingSteps: number;
  /** kW billed at least, a group. */
  readonly minimumKw: Float64Array;
}

/** Import and export of a group offset each other before they are priced. */
export interface NettingTerm extends TermBase {
  readonly kind: 'netting';
  /** Price of net import, a group. */
  readonly importPricePerKwh: Float64Array;
  /** Worth of net export, a group. */
  readonly exportPricePerKwh: Float64Array;
}

/** The charges of a group come to this at least. */
export interface MinimumTerm extends TermBase {
  readonly kind: 'minimum';
  readonly amount: Float64Array;
}

/** A percentage on what other terms come to; on energy it is in the prices already. */
export interface PercentTerm extends TermBase {
  readonly kind: 'percent';
  readonly share: number;
  /** Names of the terms that it falls on. */
  readonly on: readonly string[];
}
