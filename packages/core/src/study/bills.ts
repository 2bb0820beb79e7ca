import type { PastInput, Study } from '../site/index.ts';
import { checkPastInput, layPast, onPriceSteps, pastFlows } from '../site/inside.ts';
import { type Bill, billTariff, type CompiledTariff, type ServiceFlows } from '../tariff/index.ts';
import { type Case, withLoad } from '../trial/index.ts';
import type { Fact } from '../words/fact.ts';

/** Bills of the metered past, and the baseline that savings are set against. */
export interface PastBills {
  /** Line by line, on what the meter read each way. */
  readonly bill: Bill;
  /** What it was made of. */
  readonly flows: ServiceFlows;
  /** The bills with what went both ways within one interval netted: the baseline of `compare`. */
  readonly baseline: { readonly total: number };
  readonly tariff: CompiledTariff;
  readonly warnings: readonly Fact[];
}

/**
 * Bills the metered past.
 * @throws InputError where the data can't carry a bill: gaps left, channels missing, series of another length or zone
 */
export function billPast(input: PastInput): PastBills {
  checkPastInput(input);
  const { input: laid, split } = onPriceSteps(input);
  const past = layPast(laid, split);
  const { netted, read } = pastFlows(past);
  const bill = billTariff(past.tariff, read);
  const total = read === netted ? bill.total : billTariff(past.tariff, netted).total;
  // What is known of the load behind the meter concerns no bill.
  const warnings = past.warnings.filter(({ code }) => code !== 'load-unknown');
  return { bill, flows: read, baseline: { total }, tariff: past.tariff, warnings };
}

/** The home as metered, without the planned solar: the home itself where none is planned. */
export function meteredHome({ home, plannedSolar, meteredSolarKwh }: Study): Case {
  return plannedSolar === undefined ? home : withLoad(home, home.loadKwh, meteredSolarKwh);
}

/** What the battery's savings are measured against. */
export function againstWords(study: Study): string {
  if (study.plannedSolar !== undefined) return 'the home with its planned solar and no battery, on the same tariff';
  return study.meteredSolarKwh.some((kwh) => kwh > 0)
    ? 'the home as metered with its solar and no battery, on the same tariff'
    : 'the home as metered without a battery, on the same tariff';
}
