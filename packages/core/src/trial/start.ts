import { hold, type SettingsSheet, type Strategy } from '../dispatch/index.ts';
import { holdsAllAtStart, isFollower } from '../dispatch/inside.ts';
import { quantityAt } from '../plant/inside.ts';
import { type Case, layAgain } from './case.ts';

/**
 * The case as a strategy finds it. A battery that holds all it has was filled before the cold came: where the data begin in
 * cells too cold to charge, `hold` begins full, as it ends, and so does a sheet whose reserve of those months is all of it. The
 * others, and one whose start is stated, begin at the plant's start.
 *
 * @param sheet what a search of settings has found
 */
export function startingFull(of: Case, strategy: Strategy, sheet?: SettingsSheet): Case {
  const { plant, axis } = of;
  const stated = plant.startKwh > quantityAt(plant.floorKwh, 0) + 1e-9;
  if (stated || plant.coldSteps?.[0] !== 1 || plant.coldSteps.every((cold) => cold === 1)) return of;
  const entered = sheet ?? (isFollower(strategy) ? strategy.sheet : undefined);
  const isHeld = strategy === hold || (entered !== undefined && holdsAllAtStart(entered, axis, plant));
  if (!isHeld) return of;
  return layAgain(of, { ...plant, startKwh: plant.capacityKwh });
}
