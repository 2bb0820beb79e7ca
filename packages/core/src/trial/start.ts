import { hold, type Strategy } from '../dispatch/index.ts';
import { quantityAt } from '../plant/inside.ts';
import { type Case, layAgain } from './case.ts';

/**
 * The case as a strategy finds it. A battery that holds all it has was filled before the cold came: where the data begin in
 * cells too cold to charge, `hold` begins full, as it ends. The others, and one whose start is stated, begin at the plant's start.
 */
export function startingFull(of: Case, strategy: Strategy): Case {
  const { plant } = of;
  const stated = plant.startKwh > quantityAt(plant.floorKwh, 0) + 1e-9;
  if (strategy !== hold || stated || plant.coldSteps?.[0] !== 1 || plant.coldSteps.every((cold) => cold === 1))
    return of;
  return layAgain(of, { ...plant, startKwh: plant.capacityKwh });
}
