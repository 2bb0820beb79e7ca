import type { PercentRule, Rates } from './tariff.ts';
import type { ChargeKind, LineKind } from './vocabulary.ts';

/** A line as percentages and minimums see it. */
export interface LineIdentity {
  readonly name: string;
  readonly kind: ChargeKind;
  readonly supplier: string | undefined;
}

/** Whether a list of kinds, suppliers and names holds a line. */
export function selects(
  on: readonly string[],
  line: { readonly name: string; readonly kind: LineKind; readonly supplier: string | undefined },
): boolean {
  return (
    on.includes('all') ||
    on.includes(line.kind) ||
    on.includes(line.name) ||
    (line.supplier !== undefined && on.includes(line.supplier))
  );
}

/** The percentages of a version that a home pays. */
export function percentsOf(
  rates: Rates,
  programmes: readonly string[],
): { adjustments: PercentRule[]; taxes: PercentRule[] } {
  const mine = (rule: PercentRule) => rule.programme === undefined || programmes.includes(rule.programme);
  return { adjustments: rates.adjustments.filter(mine), taxes: rates.taxes.filter(mine) };
}

/**
 * What a unit of money on a line comes to in the end: `whole` with all adjustments and taxes that fall on it, taxes on
 * taxes included, and `underMinimum`: how much of it the minimum bill counts.
 */
export function lineWeights(
  line: LineIdentity,
  rates: Rates,
  programmes: readonly string[],
): { whole: number; underMinimum: number } {
  const { adjustments, taxes } = percentsOf(rates, programmes);
  const on = rates.minimumBill?.on ?? [];
  let whole = 1;
  let underMinimum = selects(on, line) ? 1 : 0;
  const earlier: { line: LineIdentity; amount: number }[] = [{ line, amount: 1 }];
  const add = (rule: PercentRule, kind: 'adjustment' | 'tax') => {
    let base = 0;
    for (const e of earlier) if (selects(rule.on, e.line)) base += e.amount;
    const amount = base * rule.share;
    const own: LineIdentity = { name: rule.name, kind, supplier: undefined };
    earlier.push({ line: own, amount });
    whole += amount;
    if (kind === 'adjustment' && selects(on, own)) underMinimum += amount;
  };
  // A top-up comes after the adjustments, so that they don't fall on it.
  if (line.kind !== 'minimum') for (const rule of adjustments) add(rule, 'adjustment');
  for (const rule of taxes) add(rule, 'tax');
  return { whole, underMinimum };
}
