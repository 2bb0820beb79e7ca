import { type Axis, makeAxis } from '@duskbank/core/axis';
import type { Plant } from '@duskbank/core/plant';

/** A battery of round numbers: 10 kWh, 5 kW, lossless, nothing kept back; override what a case is about. */
export function plantOf(over: Partial<Plant> = {}): Plant {
  return {
    capacityKwh: 10,
    floorKwh: 0,
    shutdownKwh: 0,
    startKwh: 0,
    chargeLimitKw: 5,
    dischargeLimitKw: 5,
    chargeEfficiency: 1,
    dischargeEfficiency: 1,
    decayPerHour: 0,
    standbyW: 0,
    gridCharging: true,
    batteryExport: false,
    coupling: 'ac',
    inverterKw: 5,
    solarChargeEfficiency: 1,
    reach: 1,
    ...over,
  };
}

/** An axis from Monday 2026-01-05 00:00 UTC. */
export function axisOf(intervals: number, stepMinutes = 60, zone = 'Etc/UTC'): Axis {
  return makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes, intervals, zone });
}

export function series(intervals: number, value: number | ((i: number) => number)): Float64Array {
  return Float64Array.from({ length: intervals }, (_, i) => (typeof value === 'number' ? value : value(i)));
}
