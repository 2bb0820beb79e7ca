import type { Axis } from '../axis/index.ts';
import type { Fact } from '../words/fact.ts';
import type { BillPlan } from './build.ts';
import type { BillTerm } from './terms/registry.ts';
import type { WindowKind } from './vocabulary.ts';

/** A named stretch of a tariff's day, as it stands on an axis. */
export interface WindowLabel {
  readonly name: string;
  /** `peak` windows are those that dispatch should spend stored energy in. Ordered by price within a season. */
  readonly kind: WindowKind;
  /** Whether it is an event of the tariff; left out: no. */
  readonly event?: boolean;
}

/** One billing period on an axis: intervals `[first, end)`. */
export interface BillingPeriod {
  readonly first: number;
  readonly end: number;
  /** First and last local date, `2026-01-01`. */
  readonly startDate: string;
  readonly endDate: string;
  /** Local days of the period that the axis covers, and days of the whole period. */
  readonly days: number;
  readonly fullDays: number;
}

/**
 * A tariff laid on an axis. Prices are all-in and marginal: what one more kWh in an interval costs (or
 * earns) before any {@link BillTerm} has its say, percentage taxes and riders included. The unrounded bill is
 * `Σ import · importPrice − Σ export · exportPrice + Σ terms`. Bill, optimum and marginal price all
 * read these, so that they can't disagree.
 */
export interface CompiledTariff {
  readonly name: string;
  readonly axis: Axis;
  /** ISO 4217 code, and the decimals that its money is printed with. */
  readonly currency: string;
  readonly currencyDecimals: number;
  readonly importPricePerKwh: Float64Array;
  readonly exportPricePerKwh: Float64Array;
  readonly terms: readonly BillTerm[];
  readonly periods: readonly BillingPeriod[];
  /** Billing period of each interval: an index into `periods`. */
  readonly period: Int32Array;
  readonly windows: readonly WindowLabel[];
  /** Import window of each interval: an index into `windows`. */
  readonly window: Uint8Array;
  /** `published`: prices are known far ahead. `day-ahead`: tomorrow's from 13:00 local the day before. */
  readonly priceKnowledge: 'published' | 'day-ahead';
  /**
   * `net`: the bill is made from what passes the service both ways. `gross`: buy-all, sell-all; give the bill as
   * import what passes the load's meter, the battery's part included, and as export all solar.
   */
  readonly metering: 'net' | 'gross';
  /** Export that the tariff allows, kW; Infinity where it sets no limit. */
  readonly exportLimitKw: number;
  readonly warnings: readonly Fact[];
  /** What `billTariff` makes its lines from; absent from a tariff that was put together by hand. */
  readonly plan?: BillPlan;
}
