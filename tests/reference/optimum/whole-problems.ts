import type { DispatchProblem } from '@duskbank/core/dispatch';
import { seeded } from './problems.ts';

export interface WholeProblem {
  readonly problem: DispatchProblem;
  /** A charge on power beside it. */
  readonly demand: { pricePerKw: number; period: Int32Array; averagingSteps: number; soFarKw: number } | undefined;
}

/**
 * A small problem of halves and tenths from short lists: random figures are never equal, and here loads stand exactly at limits, stores exactly
 * at their floor, prices exactly at nothing or at each other.
 */
export function wholeProblem(seed: number): WholeProblem {
  const r = seeded(seed * 104_729 + 5);
  const pick = <T>(...values: readonly T[]): T => values[Math.floor(r() * values.length)]!;
  const n = 2 + Math.floor(5 * r());
  const series = (...values: readonly number[]) => Float64Array.from({ length: n }, () => pick(...values));
  const netLoadKwh = series(-1, -0.5, 0, 0.5, 0.5, 1);
  const arePaid = r() < 0.4;
  const importPricePerKwh = arePaid ? series(-0.3, -0.1, 0, 0.2) : series(0, 0.1, 0.1, 0.2, 0.5);
  const exportPricePerKwh = Float64Array.from(importPricePerKwh, (price) =>
    pick(price, Math.min(0, price), Math.min(price, 0.1), price - 0.3, arePaid ? 0 : price),
  );
  const capacityKwh = pick(0.5, 1, 2);
  const lowestKwh = pick(0, 0, 0.5);
  const clippedKwh = !arePaid && r() < 0.3 ? series(0, 0.5) : undefined;
  const demand =
    r() < 0.3
      ? {
          pricePerKw: pick(0.1, 0.5),
          period: Int32Array.from({ length: n }, (_, i) => (i < n / 2 ? 0 : pick(0, 1, -1))),
          averagingSteps: 1,
          soFarKw: pick(0, 0.5, 1),
        }
      : undefined;
  const problem: DispatchProblem = {
    stepHours: 1,
    netLoadKwh,
    importPricePerKwh,
    // Who pays to sell would store solar as if it came from the grid, with more loss: the solver may, a battery can't.
    exportPricePerKwh:
      clippedKwh === undefined ? exportPricePerKwh : exportPricePerKwh.map((price) => Math.max(0, price)),
    capacityKwh,
    floorKwh: lowestKwh,
    initialKwh: pick(lowestKwh, capacityKwh, Math.min(capacityKwh, lowestKwh + 0.5)),
    chargeLimitKw: pick(0.5, 1, 1),
    dischargeLimitKw: pick(0, 0.5, 1, 1),
    chargeEfficiency: pick(1, 0.5, 0.8),
    dischargeEfficiency: pick(1, 0.5, 0.8),
    gridCharging: r() < 0.75,
    batteryExport: r() < 0.6,
    curtailment: arePaid || r() < 0.3,
    ...(clippedKwh === undefined ? {} : { clippedKwh, solarChargeEfficiency: 1 }),
    ...(r() < 0.15 ? { selfDischargePerStep: 0.5 } : {}),
    ...(r() < 0.3 ? { exportLimitKw: pick(0, 0.5, 1) } : {}),
    ...(r() < 0.3 ? { wearPerKwh: pick(0.1, 0.2) } : {}),
    ...(r() < 0.4 ? { finalValuePerKwh: pick(0.1, 0.2, 0.4) } : {}),
    ...(r() < 0.2 ? { servedLoadLimitKwh: netLoadKwh.map((kwh) => Math.max(0, kwh) * pick(0, 0.5, 1)) } : {}),
    ...(r() < 0.2 && demand === undefined ? { importLimitKw: pick(0.5, 1) } : {}),
  };
  // A floor that moves, where charging from the grid can follow it.
  const reached = problem.gridCharging === true && problem.importLimitKw === undefined;
  const rises = reached && (problem.chargeLimitKw as number) * problem.chargeEfficiency >= 0.5;
  return { problem: rises && r() < 0.3 ? { ...problem, floorKwh: series(0, 0.5) } : problem, demand };
}
