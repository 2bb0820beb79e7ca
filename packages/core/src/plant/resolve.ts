import { bySchema } from '../input/by-schema.ts';
import { check, optional, series } from '../input/door.ts';
import type { Plant, Service } from './plant.ts';
import { aPlant } from './rules.ts';
import { type PlantSection, plantSchema, type ServiceSection } from './schema.ts';

/** Share of a breaker's or cord's rating that may flow for three hours or more: NEC 210.19, 210.20 (125 % rule). */
export const CONTINUOUS_SHARE = 0.8;

const HOURS_PER_MONTH = 8760 / 12;

/** A power limit and what sets it. */
export interface PowerLimit {
  readonly kw: number;
  readonly setBy: 'battery' | 'inverter' | 'breaker' | 'cord';
}

/**
 * The numbers that one step needs, from the site file's section. Units pool: their energy and power add.
 *
 * @param reach the load that discharge may offset, kWh an interval, where the section names a metered series
 * @throws InputError where the section isn't what `parseSite` gives, or the series holds other than energies
 */
export function resolvePlant(section: PlantSection, reach?: Float64Array): Plant {
  check({ section, reach }, { section: bySchema(plantSchema), reach: optional(series({ least: 0 })) });
  const { battery } = section;
  const capacityKwh = capacityOf(section);
  const roundTripSide = Math.sqrt(battery.roundTripEfficiency ?? 1);
  const chargeEfficiency = battery.chargeEfficiency ?? roundTripSide;
  const dischargeEfficiency = battery.dischargeEfficiency ?? roundTripSide;
  const floorKwh = section.floor.kwh ?? (section.floor.share ?? 0) * capacityKwh;
  const limits = limitsOf(section);
  const sharedReach = typeof section.reach === 'object' && 'share' in section.reach ? section.reach.share : 1;
  return {
    capacityKwh,
    floorKwh,
    // A share of the capacity may come out a hair above a floor of the same level.
    shutdownKwh: Math.min(floorKwh, section.shutdown.kwh ?? (section.shutdown.share ?? 0) * capacityKwh),
    startKwh: section.startShare === undefined ? floorKwh : section.startShare * capacityKwh,
    chargeLimitKw: limits.charge.kw,
    dischargeLimitKw: limits.discharge.kw,
    chargeEfficiency,
    dischargeEfficiency,
    decayPerHour: 1 - (1 - battery.decayPerMonth) ** (1 / HOURS_PER_MONTH),
    standbyW: battery.standbyW * battery.units,
    conversionW: battery.conversionW * battery.units,
    gridCharging: section.gridCharging,
    batteryExport: section.batteryExport,
    coupling: section.coupling,
    inverterKw: inverterKw(section),
    solarChargeEfficiency: Math.min(1, chargeEfficiency / (section.inverter?.efficiency ?? 1)),
    reach: reach ?? sharedReach,
  };
}

/**
 * Usable energy of all units with their modules, kWh.
 * @throws InputError where the section isn't what `parseSite` gives
 */
export function usableCapacityKwh(section: PlantSection): number {
  check({ section }, { section: bySchema(plantSchema) });
  return capacityOf(section);
}

function capacityOf(section: PlantSection): number {
  const { battery } = section;
  const modulesKwh = battery.modules === undefined ? 0 : battery.modules.perUnit * battery.modules.usableKwh;
  return battery.units * (battery.usableKwh + modulesKwh);
}

function inverterKw(section: PlantSection): number {
  const unitKw = section.inverter?.continuousKw ?? section.battery.dischargeKw + addedKw(section, 'addsDischargeKw');
  return section.battery.units * unitKw;
}

function addedKw(section: PlantSection, field: 'addsChargeKw' | 'addsDischargeKw'): number {
  const modules = section.battery.modules;
  return modules === undefined ? 0 : modules.perUnit * modules[field];
}

/**
 * Continuous power of the pool each way, kW AC, and what sets it: the least of battery, inverter and 80 % of the
 * breaker, and for charging 80 % of the cord.
 *
 * @throws InputError where the section isn't what `parseSite` gives
 */
export function powerLimits(section: PlantSection): { charge: PowerLimit; discharge: PowerLimit } {
  check({ section }, { section: bySchema(plantSchema) });
  return limitsOf(section);
}

function limitsOf(section: PlantSection): { charge: PowerLimit; discharge: PowerLimit } {
  const { units } = section.battery;
  const continuousKw = (rating: { ampere: number; volt: number } | undefined) =>
    rating === undefined ? Number.POSITIVE_INFINITY : (units * CONTINUOUS_SHARE * rating.ampere * rating.volt) / 1000;
  const both: PowerLimit[] = [{ kw: continuousKw(section.breaker), setBy: 'breaker' }];
  if (section.inverter !== undefined) both.push({ kw: inverterKw(section), setBy: 'inverter' });
  return {
    charge: least([
      { kw: units * (section.battery.chargeKw + addedKw(section, 'addsChargeKw')), setBy: 'battery' },
      ...both,
      { kw: continuousKw(section.chargingCord), setBy: 'cord' },
    ]),
    discharge: least([
      { kw: units * (section.battery.dischargeKw + addedKw(section, 'addsDischargeKw')), setBy: 'battery' },
      ...both,
    ]),
  };
}

function least(limits: PowerLimit[]): PowerLimit {
  return limits.reduce((best, limit) => (limit.kw < best.kw ? limit : best));
}

/** The service's limits; Infinity where the file gives none. */
export function resolveService(section: ServiceSection | undefined): Service {
  return {
    importLimitKw: section?.importLimitKw ?? Number.POSITIVE_INFINITY,
    exportLimitKw: section?.exportLimitKw ?? Number.POSITIVE_INFINITY,
  };
}

/** What of the stored energy can be delivered to loads, down to the shutdown level, kWh AC. */
export function deliverableKwh(plant: Plant, storedKwh: number): number {
  return Math.max(0, storedKwh - plant.shutdownKwh) * plant.dischargeEfficiency;
}

/**
 * Hours that a full battery carries its own continuous output, down to the shutdown level; Infinity at an output of 0.
 * @throws InputError on a plant out of range
 */
export function hoursAtFullOutput(plant: Plant): number {
  check({ plant }, { plant: aPlant });
  return hoursFor(deliverableKwh(plant, plant.capacityKwh), plant.dischargeLimitKw);
}

/**
 * Hours that filling takes at the charging limit, from the shutdown level; Infinity at a limit of 0.
 * @throws InputError on a plant out of range
 */
export function hoursToFill(plant: Plant): number {
  check({ plant }, { plant: aPlant });
  return hoursFor(plant.capacityKwh - plant.shutdownKwh, plant.chargeEfficiency * plant.chargeLimitKw);
}

function hoursFor(kwh: number, kw: number): number {
  return kwh > 0 ? kwh / kw : 0;
}
