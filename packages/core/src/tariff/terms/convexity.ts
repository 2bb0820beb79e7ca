import type { Deduction } from './kind.ts';
import { kindOf } from './registry.ts';
import type { CountedCharges, Term } from './term.ts';

/**
 * Whether a bill stays convex in what passes the service when any part of some deductions is taken off it.
 *
 * With the bill W and its counted charges C, a minimum makes a period cost `max(W, W + s · (amount − C))`: convex where W,
 * C and W − s · C are. Credit carried in money costs `W − (1 − settle) · (Q − due)`, and `due` is convex where Q is: it asks
 * the same of W − (1 − settle) · Q. So every slope of what is left has to lie in order: import at export or above, blocks
 * rising, power at 0 or above. Where a tax falls on the top-up alone, on some counted lines more than on others, or where
 * import is counted and export isn't, they may not.
 *
 * The answer errs on one side: false where it isn't plain. W itself is judged by the flags of its own terms.
 *
 * @param whole   its terms stand in the order of those of every deduction
 * @param period  billing period of each interval
 */
export function staysConvex(whole: CountedCharges, deductions: readonly Deduction[], period: Int32Array): boolean {
  return (
    deductions.every(({ share }) => share.every((s) => s >= 0)) &&
    pricesInOrder(whole, deductions, period) &&
    whole.terms.every((term, t) => termInOrder(term, t, deductions))
  );
}

/** A hair below 0 is 0: weights are products of a few percentages. */
const HAIR = 1e-9;

function pricesInOrder(whole: CountedCharges, deductions: readonly Deduction[], period: Int32Array): boolean {
  const { byCell } = whole;
  const steady = byCell !== undefined && byCell.series.length === 0;
  const prices = steady ? byCell : whole;
  const periods = steady ? byCell.cells.period : period;
  const parts = deductions.map(({ counted, share }) => ({ prices: steady ? counted.byCell! : counted, share }));
  for (let i = 0; i < periods.length; i++) {
    let taken = 0;
    for (const { prices: own, share } of parts) {
      const part = share[periods[i]!]! * (own.importPricePerKwh[i]! - own.exportPricePerKwh[i]!);
      if (part < -HAIR) return false;
      taken += Math.max(0, part);
    }
    if (taken > 0 && prices.importPricePerKwh[i]! - prices.exportPricePerKwh[i]! - taken < -HAIR) return false;
  }
  return true;
}

function termInOrder(term: Term, t: number, deductions: readonly Deduction[]): boolean {
  const parts = deductions.flatMap(({ counted, share }) => {
    const own = counted.terms[t]!;
    return kindOf(own).isSteady(own) ? [] : [{ counted: own, share }];
  });
  if (parts.length === 0) return true;
  if (!term.convex || parts.some(({ counted }) => !counted.convex)) return false;
  const whole = kindOf(term).slopeSteps(term);
  const taken = parts.map(({ counted }) => kindOf(counted).slopeSteps(counted));
  if (whole === undefined || taken.includes(undefined)) return false;
  return whole.every(({ slope, group }, k) => {
    let left = slope;
    for (const [d, { share }] of parts.entries())
      left -= Math.max(0, share[term.period[group]!]! * taken[d]![k]!.slope);
    return left >= -HAIR;
  });
}
