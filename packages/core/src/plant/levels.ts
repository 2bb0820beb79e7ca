import { MAX_INTERVALS } from '../axis/inside.ts';
import { check, number } from '../input/door.ts';

/**
 * The one form of every strategy: four levels of stored energy, a cap and a charging power, an entry an interval. One loop
 * executes them, following net load within the step. All levels are kWh of usable energy.
 *
 * Levels outside [floor, capacity] are read as the nearer end, so that ±Infinity mean "full" and "floor".
 */
export interface Levels {
  /** Store own surplus up to here. */
  readonly solarChargeToKwh: Float64Array;
  /** Buy from the grid up to here. */
  readonly gridChargeToKwh: Float64Array;
  /** Carry own load down to here. */
  readonly serveDownToKwh: Float64Array;
  /** Sell to the grid down to here. */
  readonly exportDownToKwh: Float64Array;
  /** Hold grid import under this where possible, kW; Infinity for no cap. The floor is kept. */
  readonly importCapKw: Float64Array;
  /** Buy for the battery with no more than this, kW AC, the floor too; Infinity for all that it takes. */
  readonly gridChargeKw: Float64Array;
}

/**
 * Levels of `intervals` steps, set to self-consumption: store surplus, serve load, never buy, never sell.
 * @throws InputError `out-of-range`
 */
export function makeLevels(intervals: number): Levels {
  check({ intervals }, { intervals: number({ whole: true, least: 0, most: MAX_INTERVALS }) });
  return resetLevels({
    solarChargeToKwh: new Float64Array(intervals),
    gridChargeToKwh: new Float64Array(intervals),
    serveDownToKwh: new Float64Array(intervals),
    exportDownToKwh: new Float64Array(intervals),
    importCapKw: new Float64Array(intervals),
    gridChargeKw: new Float64Array(intervals),
  });
}

/** Sets levels of intervals `[from, to)` back to self-consumption; all of them for another run in the same arrays. */
export function resetLevels(levels: Levels, from = 0, to = levels.importCapKw.length): Levels {
  levels.solarChargeToKwh.fill(Number.POSITIVE_INFINITY, from, to);
  levels.gridChargeToKwh.fill(Number.NEGATIVE_INFINITY, from, to);
  levels.serveDownToKwh.fill(Number.NEGATIVE_INFINITY, from, to);
  levels.exportDownToKwh.fill(Number.POSITIVE_INFINITY, from, to);
  levels.importCapKw.fill(Number.POSITIVE_INFINITY, from, to);
  levels.gridChargeKw.fill(Number.POSITIVE_INFINITY, from, to);
  return levels;
}

/** The first interval of `[from, to)` with a level that is NaN, or a cap or power below 0; −1 where there is none. */
export function firstBadLevel(levels: Levels, from: number, to: number): number {
  const { solarChargeToKwh, gridChargeToKwh, serveDownToKwh, exportDownToKwh, importCapKw, gridChargeKw } = levels;
  for (let i = from; i < to; i++) {
    const fine =
      !Number.isNaN(solarChargeToKwh[i]!) &&
      !Number.isNaN(gridChargeToKwh[i]!) &&
      !Number.isNaN(serveDownToKwh[i]!) &&
      !Number.isNaN(exportDownToKwh[i]!) &&
      importCapKw[i]! >= 0 &&
      gridChargeKw[i]! >= 0;
    if (!fine) return i;
  }
  return -1;
}
