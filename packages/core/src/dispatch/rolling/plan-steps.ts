import type { PlantPerStep, Quantity, StepFlows } from '../../plant/index.ts';
import { copyQuantity, quantityAt, reachesAll } from '../../plant/inside.ts';
import type { CompiledTariff } from '../../tariff/index.ts';
import { type StepProblem, UNSERVED_FACTOR } from '../optimum/problem.ts';
import { Scratch } from '../optimum/scratch.ts';

/** A problem whose series are filled in again and again. */
export type PlanSteps = { -readonly [K in keyof StepProblem]: StepProblem[K] };

/** A dispatch problem of `length` steps with a home's limits, its series to be filled in. */
export function emptySteps(plant: PlantPerStep, tariff: CompiledTariff, length: number, wearPerKwh: number): PlanSteps {
  const { chargeEfficiency, solarChargeEfficiency, dischargeEfficiency } = plant.conversion;
  const make = (value = 0) => new Float64Array(length).fill(value);
  const capped = tariff.terms.some((term) => term.kind === 'demand' && term.steps === undefined);
  let dearest = 1e-6 + wearPerKwh;
  for (const price of tariff.importPricePerKwh) if (Math.abs(price) > dearest) dearest = Math.abs(price);
  const steps: PlanSteps = {
    intervals: length,
    plain: false,
    netLoadKwh: make(),
    importPricePerKwh: make(),
    exportPricePerKwh: make(),
    chargeLimitKwh: make(),
    dischargeLimitKwh: make(),
    lowKwh: make(),
    highKwh: make(),
    floorKwh: make(),
    initialKwh: 0,
    chargeEfficiency,
    dischargeEfficiency,
    solarChargeEfficiency,
    acPerCharged: 1 / chargeEfficiency,
    acPerSolarCharged: 1 / solarChargeEfficiency,
    storedPerAc: 1 / dischargeEfficiency,
    decay: plant.decayShare,
    gridCharging: plant.gridCharging,
    batteryExport: plant.batteryExport,
    curtailment: false,
    clippedKwh: plant.coupling === 'dc' ? make() : undefined,
    servedLoadLimitKwh: reachesAll(plant) ? undefined : make(),
    importLimitKwh: plant.importLimitKwh,
    exportLimitKwh: plant.exportLimitKwh,
    wearPerKwh,
    finalValuePerKwh: 0,
    unservedPerKwh: UNSERVED_FACTOR * dearest,
    unservedRisePerStep: 0,
    stepsToEnd: length,
    importCapKwh: capped ? make(Number.POSITIVE_INFINITY) : undefined,
    overCapPerKwh: capped ? make() : undefined,
    scratch: new Scratch(),
  };
  fillLimits(plant, steps, 0, length, true);
  return steps;
}

/**
 * Fills what the plant may take and give in intervals `[from, end)` of the axis, and the floor that decay acts above.
 * One number stays from plan to plan, so that a plain home's plans cost nothing here.
 */
export function fillLimits(plant: PlantPerStep, steps: PlanSteps, from: number, end: number, first = false): void {
  const { capacityKwh, floorKwh, chargeLimitKwh, dischargeLimitKwh, conversion } = plant;
  const varies = (...quantities: Quantity[]) => quantities.some((quantity) => typeof quantity !== 'number');
  // Nothing moves more than the whole store in one step: that keeps widths finite.
  if (first ? !varies(capacityKwh, chargeLimitKwh) : varies(capacityKwh, chargeLimitKwh))
    for (let i = from; i < end; i++)
      steps.chargeLimitKwh[i - from] = Math.min(
        quantityAt(chargeLimitKwh, i),
        (1.000001 * quantityAt(capacityKwh, i)) / conversion.chargeEfficiency,
      );
  if (first ? !varies(capacityKwh, dischargeLimitKwh) : varies(capacityKwh, dischargeLimitKwh))
    for (let i = from; i < end; i++)
      steps.dischargeLimitKwh[i - from] = Math.min(
        quantityAt(dischargeLimitKwh, i),
        1.000001 * quantityAt(capacityKwh, i),
      );
  if (first ? !varies(floorKwh) : varies(floorKwh)) copyQuantity(floorKwh, from, end, steps.floorKwh);
}

/** The arrays of a plan that load and sun fill. */
export function flowsOf(steps: PlanSteps): StepFlows {
  return {
    netKwh: steps.netLoadKwh,
    clippedKwh: steps.clippedKwh,
    dischargeLimitKwh: steps.dischargeLimitKwh,
    servedLimitKwh: steps.servedLoadLimitKwh,
  };
}
