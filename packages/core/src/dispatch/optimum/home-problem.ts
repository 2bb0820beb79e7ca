import type { PreparedPlant } from '../../plant/index.ts';
import type { CompiledTariff } from '../../tariff/index.ts';
import type { DispatchProblem } from './problem.ts';

/** A home's year as a dispatch problem on the tariff's prices alone, its terms left out. */
export function homeProblem(prepared: PreparedPlant, tariff: CompiledTariff): DispatchProblem {
  const { axis, plant, service, netKwh, clippedKwh, inverterRoomKwh, servedLimitKwh, floorKwh } = prepared;
  let dischargeLimitKw: number | Float64Array = plant.dischargeLimitKw;
  if (inverterRoomKwh !== undefined)
    dischargeLimitKw = inverterRoomKwh.map((kwh) => Math.min(plant.dischargeLimitKw, kwh / axis.stepHours));
  return {
    stepHours: axis.stepHours,
    netLoadKwh: netKwh,
    importPricePerKwh: tariff.importPricePerKwh,
    exportPricePerKwh: tariff.exportPricePerKwh,
    capacityKwh: plant.capacityKwh,
    floorKwh: floorKwh ?? plant.floorKwh,
    chargeLimitKw: plant.chargeLimitKw,
    dischargeLimitKw,
    initialKwh: plant.startKwh,
    chargeEfficiency: plant.chargeEfficiency,
    dischargeEfficiency: plant.dischargeEfficiency,
    selfDischargePerStep: 1 - (1 - plant.decayPerHour) ** axis.stepHours,
    gridCharging: plant.gridCharging,
    batteryExport: plant.batteryExport,
    importLimitKw: service.importLimitKw,
    exportLimitKw: service.exportLimitKw,
    ...(plant.coupling === 'dc' ? { solarChargeEfficiency: plant.solarChargeEfficiency } : {}),
    ...(clippedKwh === undefined ? {} : { clippedKwh }),
    ...(servedLimitKwh === undefined ? {} : { servedLoadLimitKwh: servedLimitKwh }),
  };
}
