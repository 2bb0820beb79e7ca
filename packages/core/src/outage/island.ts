import type { Axis } from '../axis/index.ts';
import type { Plant } from '../plant/index.ts';
import type { Backup } from './backup.ts';

/** What is on the island's side of the transfer equipment when the grid is down. */
export interface Island {
  /** Backed-up load, kWh an interval. */
  readonly loadKwh: Float64Array;
  /** Solar that runs with the battery, kWh an interval at AC; zeros where it stays outside. */
  readonly solarKwh: Float64Array;
  /** How the load was arrived at, in words: stands beside every figure that rests on it. */
  readonly basis: string;
}

/** What {@link islandOf} needs. */
export interface IslandOptions {
  readonly axis: Axis;
  readonly plant: Plant;
  /** The site's `backup` section, if it has one. */
  readonly backup?: Backup;
  /** The home's metered load and gross solar, kWh an interval. */
  readonly loadKwh: Float64Array;
  readonly solarKwh: Float64Array;
}

/**
 * The backed-up load and the solar that helps to carry it. Where the site doesn't say, the lower answer holds: all the
 * load that the battery reaches, and solar on the island only where it shares the battery's inverter.
 */
export function islandOf(options: IslandOptions): Island {
  const { axis, plant, backup = {}, loadKwh, solarKwh } = options;
  const load = backedUpLoad(axis, plant, backup, loadKwh);
  const onIsland = backup.solarOnIsland ?? plant.coupling === 'dc';
  const solarLimitKwh = (backup.solarLimitKw ?? Number.POSITIVE_INFINITY) * axis.stepHours;
  const solar = onIsland ? solarKwh.map((kwh) => Math.min(kwh, solarLimitKwh)) : new Float64Array(axis.intervals);
  const sun = onIsland ? 'solar on the island' : 'no solar on the island';
  return { loadKwh: load.loadKwh, solarKwh: solar, basis: `${load.basis}, ${sun}` };
}

function backedUpLoad(
  axis: Axis,
  plant: Plant,
  backup: Backup,
  loadKwh: Float64Array,
): { loadKwh: Float64Array; basis: string } {
  if (backup.load?.watts !== undefined) {
    const { watts } = backup.load;
    return {
      loadKwh: new Float64Array(axis.intervals).fill((watts / 1000) * axis.stepHours),
      basis: `a constant ${watts.toLocaleString('en-US')} W`,
    };
  }
  if (backup.load?.share !== undefined) {
    const { share } = backup.load;
    return {
      loadKwh: loadKwh.map((kwh) => kwh * share),
      basis: share === 1 ? 'the whole metered load' : `${percent(share)} of the metered load`,
    };
  }
  const { reach } = plant;
  if (typeof reach !== 'number')
    return { loadKwh: loadKwh.map((kwh, i) => Math.min(kwh, reach[i]!)), basis: 'the load that the battery reaches' };
  return {
    loadKwh: loadKwh.map((kwh) => kwh * reach),
    basis: reach === 1 ? 'the whole metered load' : `${percent(reach)} of the metered load`,
  };
}

function percent(share: number): string {
  return `${Number((share * 100).toPrecision(3))} %`;
}
