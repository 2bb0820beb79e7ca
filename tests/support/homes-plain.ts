import type { Plant } from '@duskbank/core/plant';

/** A small seeded generator (mulberry32): the same numbers in every run and on every machine. */
export function seeded(seed: number): () => number {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = a;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** A plain pooled pair: 7.6 kWh, 12 kW, 90 % round trip, nothing switched off. */
export function plainPlant(change: Partial<Plant> = {}): Plant {
  return {
    capacityKwh: 7.6,
    floorKwh: 0,
    shutdownKwh: 0,
    startKwh: 0,
    chargeLimitKw: 6,
    dischargeLimitKw: 12,
    chargeEfficiency: Math.sqrt(0.9),
    dischargeEfficiency: Math.sqrt(0.9),
    decayPerHour: 0,
    standbyW: 0,
    gridCharging: true,
    batteryExport: false,
    coupling: 'ac',
    inverterKw: 12,
    solarChargeEfficiency: Math.sqrt(0.9),
    reach: 1,
    ...change,
  };
}
