import type { StepProblem } from '../optimum/problem.ts';
import type { StrategyView } from '../strategy.ts';

/** A problem whose series are filled in again and again. */
export type PlanSteps = { -readonly [K in keyof StepProblem]: StepProblem[K] };

/** A dispatch problem of `length` steps with a home's limits, its series to be filled in. */
export function emptySteps(view: StrategyView, length: number, wearPerKwh: number): PlanSteps {
  const { axis, plant, service, tariff } = view;
  const h = axis.stepHours;
  const make = (value = 0) => new Float64Array(length).fill(value);
  const reached = typeof plant.reach !== 'number' || plant.reach < 1;
  const capped = tariff.terms.some((term) => term.kind === 'demand' && term.steps === undefined);
  const dc = plant.coupling === 'dc';
  const solarChargeEfficiency = dc ? plant.solarChargeEfficiency : plant.chargeEfficiency;
  const most = plant.capacityKwh;
  let dearest = 1e-6 + wearPerKwh;
  for (const price of tariff.importPricePerKwh) if (Math.abs(price) > dearest) dearest = Math.abs(price);
  return {
    intervals: length,
    plain: false,
    netLoadKwh: make(),
    importPricePerKwh: make(),
    exportPricePerKwh: make(),
    chargeLimitKwh: make(Math.min(plant.chargeLimitKw * h, (1.000001 * most) / plant.chargeEfficiency)),
    dischargeLimitKwh: make(Math.min(plant.dischargeLimitKw * h, 1.000001 * most)),
    lowKwh: make(),
    highKwh: make(),
    floorKwh: make(typeof plant.floorKwh === 'number' ? plant.floorKwh : 0),
    initialKwh: 0,
    chargeEfficiency: plant.chargeEfficiency,
    dischargeEfficiency: plant.dischargeEfficiency,
    solarChargeEfficiency,
    acPerCharged: 1 / plant.chargeEfficiency,
    acPerSolarCharged: 1 / solarChargeEfficiency,
    storedPerAc: 1 / plant.dischargeEfficiency,
    decay: 1 - (1 - plant.decayPerHour) ** h,
    gridCharging: plant.gridCharging,
    batteryExport: plant.batteryExport,
    curtailment: false,
    clippedKwh: dc ? make() : undefined,
    servedLoadLimitKwh: reached ? make() : undefined,
    importLimitKwh: service.importLimitKw * h,
    exportLimitKwh: service.exportLimitKw * h,
    wearPerKwh,
    finalValuePerKwh: 0,
    unservedPerKwh: 1e6 * dearest,
    unservedRisePerStep: 0,
    stepsToEnd: length,
    importCapKwh: capped ? make(Number.POSITIVE_INFINITY) : undefined,
    overCapPerKwh: capped ? make() : undefined,
  };
}
