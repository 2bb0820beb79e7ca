import { type Home, none, runStrategy } from '../dispatch/index.ts';
import type { Flows } from '../plant/index.ts';
import { layPast, type PastInput, pastFlows, type Study, type Warning } from '../site/index.ts';
import { type Bill, billTariff, billTotal, type CompiledTariff, type ServiceFlows } from '../tariff/index.ts';
import { toCents } from './steps.ts';

/** Bills of the metered past, and the baseline that savings are set against. */
export interface PastBills {
  /** Line by line, on what the meter read each way. */
  readonly bill: Bill;
  /** What it was made of. */
  readonly flows: ServiceFlows;
  /** The bills with what went both ways within one interval netted: the baseline of `compare`. */
  readonly baseline: { readonly total: number };
  readonly tariff: CompiledTariff;
  readonly warnings: readonly Warning[];
}

/** Bills the metered past. */
export function billPast(input: PastInput): PastBills {
  const past = layPast(input);
  const { netted, read } = pastFlows(past);
  const bill = billTariff(past.tariff, read);
  const total = read === netted ? bill.total : billTariff(past.tariff, netted).total;
  // What is known of the load behind the meter concerns no bill.
  const warnings = past.warnings.filter(({ code }) => code !== 'load-unknown');
  return { bill, flows: read, baseline: { total }, tariff: past.tariff, warnings };
}

/** What the tariff bills of a run: what passes the service, or under buy-all, sell-all the home's load and solar. */
export function billedFlows(study: Study, flows: Flows, home: Home = study.home): ServiceFlows {
  return home.tariff.metering === 'gross' ? { importKwh: home.loadKwh, exportKwh: home.solarKwh } : flows;
}

/** What a home pays over the axis: its bills, rounded where the tariff says. Unrounded on a tariff without a file. */
export function paidTotal(tariff: CompiledTariff, flows: ServiceFlows): number {
  return tariff.plan === undefined ? billTotal(tariff, flows) : billTariff(tariff, flows).total;
}

/**
 * Energy above the floor before the first interval was bought once: the mean import price over the charging losses, to
 * the currency's last decimal.
 */
export function startEnergyCharge({ home }: Pick<Study, 'home'>): number {
  const { plant, tariff } = home;
  const floorKwh = typeof plant.floorKwh === 'number' ? plant.floorKwh : plant.floorKwh[0]!;
  const aboveKwh = Math.max(0, plant.startKwh - floorKwh);
  if (aboveKwh === 0) return 0;
  const meanPrice =
    tariff.importPricePerKwh.reduce((total, price) => total + price, 0) / tariff.importPricePerKwh.length;
  return toCents((aboveKwh / plant.chargeEfficiency) * meanPrice, tariff.currencyDecimals);
}

/** The home as metered, without the planned solar: the home itself where none is planned. */
export function meteredHome(study: Study): Home {
  return study.plannedSolar === undefined ? study.home : { ...study.home, solarKwh: study.meteredSolarKwh };
}

/** What passes the service without a battery. */
export function flowsWithoutPlant(home: Home): Flows {
  return runStrategy(none, home).flows;
}

/** What the battery's savings are measured against. */
export function againstWords(study: Study): string {
  return study.plannedSolar === undefined
    ? 'the home as metered, with its solar and no battery, on the same tariff'
    : 'the home with its planned solar and no battery, on the same tariff';
}
