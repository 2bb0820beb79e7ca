import { billedFlows } from '../dispatch/inside.ts';
import type { Flows } from '../plant/index.ts';
import { billTariff, type CompiledTariff, type ServiceFlows } from '../tariff/index.ts';
import { toCents, totalOf } from '../tariff/inside.ts';
import type { Case } from './case.ts';

/** What a home pays over its axis. */
export interface PaidBill {
  /** Rounded where the tariff says; unrounded on a tariff that was put together by hand. */
  readonly total: number;
  /** As the bound is: shares of it are reckoned so. */
  readonly unrounded: number;
  /** Energy above the floor before the first interval, which was bought once: in both totals. */
  readonly startEnergy: number;
}

/** Bill of a run's flows on the tariff of a case, with what was stored at the start. */
export function billOf(of: Case, flows: Flows, startEnergy = 0): PaidBill {
  const billed = billedFlows(of, flows);
  return {
    total: paidTotal(of.tariff, billed) + startEnergy,
    unrounded: totalOf(of.tariff, billed) + startEnergy,
    startEnergy,
  };
}

/** What flows cost, rounded where the tariff says. */
export function paidTotal(tariff: CompiledTariff, flows: ServiceFlows): number {
  return tariff.plan === undefined ? totalOf(tariff, flows) : billTariff(tariff, flows).total;
}

/**
 * Stored energy at the start that nobody pays for, kWh: the lowest floor of the data. What lies above it was bought once, a
 * higher floor of the first days too: else a home that keeps more would be given more.
 */
export function givenAtStartKwh({ floorKwh }: Pick<Case['plant'], 'floorKwh'>): number {
  return typeof floorKwh === 'number' ? floorKwh : floorKwh.reduce((least, kwh) => Math.min(least, kwh));
}

/**
 * What the energy above {@link givenAtStartKwh} before the first interval cost: the mean import price over the charging losses, to
 * the currency's last decimal.
 */
export function startEnergyCharge({ plant, tariff }: Pick<Case, 'plant' | 'tariff'>): number {
  const aboveKwh = Math.max(0, plant.startKwh - givenAtStartKwh(plant));
  if (aboveKwh === 0) return 0;
  const meanPrice =
    tariff.importPricePerKwh.reduce((total, price) => total + price, 0) / tariff.importPricePerKwh.length;
  return toCents((aboveKwh / plant.chargeEfficiency) * meanPrice, tariff.currencyDecimals);
}
