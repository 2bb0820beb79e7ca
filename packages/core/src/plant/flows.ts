import { MAX_INTERVALS } from '../axis/inside.ts';
import { check, number } from '../input/door.ts';

/** Less than this is what rounding leaves, and is no reason to move energy. */
export const ROUNDING_KWH = 1e-9;

/** Every flow of every interval, kWh at AC, none negative; stored energy at the interval's end. */
export interface Flows {
  readonly importKwh: Float64Array;
  readonly exportKwh: Float64Array;
  /** Taken by the battery; solar that is stored past a shared inverter counts at its AC worth. */
  readonly chargeKwh: Float64Array;
  readonly dischargeKwh: Float64Array;
  readonly curtailedKwh: Float64Array;
  /** Load that neither grid nor battery could carry. */
  readonly unservedKwh: Float64Array;
  /** Usable energy stored at the end of the interval. */
  readonly socKwh: Float64Array;
}

/** What a run carries from block to block. */
export interface RunState {
  /** Energy stored now, kWh. */
  socKwh: number;
  /** Intervals that ended under the floor, and the largest lack, kWh. */
  shortfallIntervals: number;
  shortfallKwh: number;
}

/**
 * Zeroed flows for `intervals` steps.
 * @throws InputError `out-of-range`
 */
export function makeFlows(intervals: number): Flows {
  check({ intervals }, { intervals: number({ whole: true, least: 0, most: MAX_INTERVALS }) });
  return {
    importKwh: new Float64Array(intervals),
    exportKwh: new Float64Array(intervals),
    chargeKwh: new Float64Array(intervals),
    dischargeKwh: new Float64Array(intervals),
    curtailedKwh: new Float64Array(intervals),
    unservedKwh: new Float64Array(intervals),
    socKwh: new Float64Array(intervals),
  };
}

/** Sets every flow back to 0, for another run in the same arrays. */
export function clearFlows(flows: Flows): Flows {
  for (const series of Object.values(flows) as Float64Array[]) series.fill(0);
  return flows;
}

/** The state before the first interval. */
export function startState(plant: { readonly startKwh: number }): RunState {
  return { socKwh: plant.startKwh, shortfallIntervals: 0, shortfallKwh: 0 };
}
