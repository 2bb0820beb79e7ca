import { toCents } from '../tariff/inside.ts';
import type { SwitchStep } from './tariff-switch-schema.ts';

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
