import type { Deduction } from './kind.ts';
import { tariffKindOf } from './registry.ts';
import type { CountedCharges, Term } from './term.ts';

/**
 * Whether a bill stays convex in import and export when any part of some deductions is taken off it.
 *
 * Let W be the bill and C its counted charges. With a minimum bill a period costs `max(W, W + s · (amount − C))`, which is
 * convex where W, C and W − s · C are. With credit carried in money it costs `W − (1 − settle) · (Q − due)`; `due` is convex
 * where Q is, so that W − (1 − settle) · Q has to be convex too. What is left after a deduction is convex where its slopes
 * are in order: import costs at least what export earns, blocks get dearer, a kW costs 0 or more. They may be out of order
 * where a tax falls on the top-up alone, where it falls on some counted lines more than on others, or where import is
 * counted and export isn't.
 *
 * False also means that it can't be told. Whether W itself is convex is not asked: its terms have flags for that.
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

/** Slopes down to this much below 0 count as 0, money a kWh: weights are products of percentages in binary. */
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
    return tariffKindOf(own).isSteady(own) ? [] : [{ counted: own, share }];
  });
  if (parts.length === 0) return true;
  if (!term.convex || parts.some(({ counted }) => !counted.convex)) return false;
  const whole = tariffKindOf(term).slopeSteps(term);
  const taken = parts.map(({ counted }) => tariffKindOf(counted).slopeSteps(counted));
  if (whole === undefined || taken.includes(undefined)) return false;
  return whole.every(({ slope, group }, k) => {
    let left = slope;
    for (const [d, { share }] of parts.entries())
      left -= Math.max(0, share[term.period[group]!]! * taken[d]![k]!.slope);
    return left >= -HAIR;
  });
}
