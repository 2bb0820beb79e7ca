import { agree, type BillPair, energyOf } from './causes.ts';

/** The bill that is furthest off, as a share of what was reckoned for it. */
export interface FurthestBill {
  readonly start: string;
  readonly end: string;
  readonly ours: number;
  /** `actual − ours`. */
  readonly difference: number;
  /** `difference ÷ |ours|`; null where nothing was reckoned. */
  readonly share: number | null;
}

/** What all bills that could be set beside ours come to. */
export interface ReconciledTotal {
  readonly bills: number;
  readonly actual: number;
  readonly ours: number;
  /** `actual − ours`. */
  readonly difference: number;
  /** `difference ÷ |ours|`; null where nothing was reckoned. */
  readonly share: number | null;
  /** Bills that are off both ways add up to little: savings are known no better than the one that is furthest off. */
  readonly furthest: FurthestBill;
}

/**
 * How far the tariff file can be trusted: `exact`, every bill agrees to the cent; `trust`, together they agree within 0.2 %
 * and each within 1 %; `near`, each within 2 % or two cents; `off`, further apart, all of what was reckoned. `energy-differs`: the
 * money would be exact or to be trusted, but a bill states kWh that are more than 2 % from those of the data.
 */
export type BillVerdict = 'exact' | 'trust' | 'energy-differs' | 'near' | 'off';

/** Whether a bill states other kWh than the data hold, by more than a share of these and 1 kWh. */
export function energyIsOff({ bill, own }: BillPair, share: number): boolean {
  return bill.importKwh !== undefined && Math.abs(bill.importKwh - energyOf(own)) > Math.max(1, share * energyOf(own));
}

export function totalOf(pairs: readonly BillPair[]): ReconciledTotal | null {
  if (pairs.length === 0) return null;
  const actual = cents(pairs.reduce((sum, { bill }) => sum + bill.total, 0));
  const ours = cents(pairs.reduce((sum, { own }) => sum + own.total, 0));
  const difference = cents(actual - ours);
  const furthest = furthestOf(pairs);
  return { bills: pairs.length, actual, ours, difference, share: shareOf(difference, ours), furthest };
}

function furthestOf(pairs: readonly BillPair[]): FurthestBill {
  const [furthest] = pairs
    .map(({ bill, own }) => ({ bill, own, difference: cents(bill.total - own.total) }))
    .sort((a, b) => offBy(b) - offBy(a) || Math.abs(b.difference) - Math.abs(a.difference));
  const { bill, own, difference } = furthest!;
  return { start: bill.start, end: bill.end, ours: own.total, difference, share: shareOf(difference, own.total) };
}

/** Share of what was reckoned; what rounding makes is none, for of a bill of some cents it is a large one. */
function offBy({ bill, own }: Pick<BillPair, 'bill' | 'own'>): number {
  const difference = Math.abs(bill.total - own.total);
  return difference <= PENNIES ? 0 : difference / Math.abs(own.total);
}

function shareOf(difference: number, ours: number): number | null {
  return ours === 0 ? null : difference / Math.abs(ours);
}

export function verdictOf(pairs: readonly BillPair[], total: ReconciledTotal | null): BillVerdict | null {
  if (total === null) return null;
  const energyDiffers = pairs.some((pair) => energyIsOff(pair, KWH_SHARE));
  if (agree(pairs)) return energyDiffers ? 'energy-differs' : 'exact';
  const share = Math.abs(total.share ?? Number.POSITIVE_INFINITY);
  // Bills that are off both ways add up to nothing: each of them must be near too.
  const apart = pairs.some(({ bill, own }) => Math.abs(bill.total - own.total) > EACH_SHARE * Math.abs(own.total));
  if (share <= TRUSTED_SHARE && !apart) return energyDiffers ? 'energy-differs' : 'trust';
  return pairs.every((pair) => offBy(pair) <= NEAR_SHARE) ? 'near' : 'off';
}

/** Of the kWh of the data: common practice, no source. */
export const KWH_SHARE = 0.02;
/** Money a bill, two cents and 0.001: what rounding makes, and no cause where the bills are trusted. */
export const PENNIES = 0.021;

/** Of all bills together, and of each: common practice, no source. */
const TRUSTED_SHARE = 0.002;
const EACH_SHARE = 0.01;
const NEAR_SHARE = 0.02;

/** Money to a millionth: sums in binary. */
export function cents(value: number): number {
  return Math.round(value * 1e6) / 1e6;
}
