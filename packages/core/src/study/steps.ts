import type { SwitchStep } from './tariff-switch-schema.ts';

/** Money to the currency's last decimal; halves go away from zero, whatever the last bits of a sum make of them. */
export function toCents(value: number, decimals: number): number {
  const cents = Math.round(Number((Math.abs(value) * 10 ** decimals).toPrecision(12))) / 10 ** decimals;
  return value < 0 && cents > 0 ? -cents : cents;
}

/**
 * Steps from totals: each total is rounded once, and the changes are the differences of the rounded ones, so that they
 * sum to the cent.
 */
export function stepsOf(totals: readonly Omit<SwitchStep, 'change'>[], decimals: number): SwitchStep[] {
  const rounded = totals.map((step) => toCents(step.total, decimals));
  return totals.map((step, k) => ({
    ...step,
    total: rounded[k]!,
    change: k === 0 ? 0 : toCents(rounded[k]! - rounded[k - 1]!, decimals),
  }));
}
