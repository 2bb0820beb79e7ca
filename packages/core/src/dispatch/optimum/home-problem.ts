import { check } from '../../input/door.ts';
import type { PlantOnAxis, Quantity } from '../../plant/index.ts';
import { aPlantOnAxis } from '../../plant/inside.ts';
import type { CompiledTariff } from '../../tariff/index.ts';
import { aCompiledTariff } from '../../tariff/inside.ts';
import { checkSameAxis } from '../home.ts';
import type { DispatchProblem } from './problem.ts';

/**
 * A home's year as a dispatch problem on the tariff's prices alone, its terms left out.
 * @throws InputError on a tariff of another axis
 */
export function homeProblem(onAxis: PlantOnAxis, tariff: CompiledTariff): DispatchProblem {
  check({ onAxis, tariff }, { onAxis: aPlantOnAxis, tariff: aCompiledTariff });
  checkSameAxis(onAxis.axis, tariff);
  return problemOf(onAxis, tariff);
}

/** {@link homeProblem} of a home that was checked. */
export function problemOf(onAxis: PlantOnAxis, tariff: CompiledTariff): DispatchProblem {
  const { stepHours, conversion, clippedKwh, servedLimitKwh } = onAxis;
  const power = (energyKwh: Quantity) =>
    typeof energyKwh === 'number' ? energyKwh / stepHours : energyKwh.map((kwh) => kwh / stepHours);
  return {
    stepHours,
    netLoadKwh: onAxis.netKwh,
    importPricePerKwh: tariff.importPricePerKwh,
    exportPricePerKwh: tariff.exportPricePerKwh,
    capacityKwh: onAxis.capacityKwh,
    floorKwh: onAxis.floorKwh,
    chargeLimitKw: power(onAxis.chargeLimitKwh),
    dischargeLimitKw: power(onAxis.dischargeLimitKwh),
    initialKwh: onAxis.startKwh,
    chargeEfficiency: conversion.chargeEfficiency,
    dischargeEfficiency: conversion.dischargeEfficiency,
    solarChargeEfficiency: conversion.solarChargeEfficiency,
    selfDischargePerStep: onAxis.decayShare,
    gridCharging: onAxis.gridCharging,
    batteryExport: onAxis.batteryExport,
    importLimitKw: onAxis.importLimitKwh / stepHours,
    exportLimitKw: onAxis.exportLimitKwh / stepHours,
    ...(clippedKwh === undefined ? {} : { clippedKwh }),
    ...(servedLimitKwh === undefined ? {} : { servedLoadLimitKwh: servedLimitKwh }),
  };
}
