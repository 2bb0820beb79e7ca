import { HOUR_MS } from './durations.ts';
import type { Unit } from './options.ts';

/** What one unit of a value is in kWh, over an interval of `stepMs`. */
export function kwhPer(unit: Unit, stepMs: number): number {
  switch (unit) {
    case 'kWh':
      return 1;
    case 'Wh':
      return 1e-3;
    case 'MWh':
      return 1e3;
    case 'kW':
      return stepMs / HOUR_MS;
    case 'W':
      return stepMs / HOUR_MS / 1e3;
    case 'MW':
      return (stepMs / HOUR_MS) * 1e3;
    case 'kW-minutes':
      return 1 / 60;
  }
}

/** The mean size of the readings that are there, whatever their sign; 0 where none is. */
export function meanSize(values: Float64Array): number {
  let sum = 0;
  let count = 0;
  for (const value of values)
    if (!Number.isNaN(value)) {
      sum += Math.abs(value);
      count++;
    }
  return count === 0 ? 0 : sum / count;
}
