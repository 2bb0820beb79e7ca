import type { Axis } from '../axis/index.ts';
import { anAxis } from '../axis/inside.ts';
import { bytes, check, number, optional, type Rule, record, report } from '../input/door.ts';
import { InputError } from '../input/index.ts';
import { executeLevels as execute, executeWithoutPlant as executeWithout } from './execute.ts';
import { type Flows, type RunState, startState as stateOf } from './flows.ts';
import { type IslandedPlant, type IslandMargins, islanded as island } from './islanded.ts';
import { firstBadLevel, type Levels } from './levels.ts';
import { plantOnAxis as layPlant, type PlantOnAxis, type PlantPerStep, plantPerStep as perStep } from './on-axis.ts';
import type { Plant, Service } from './plant.ts';
import { amount, aPlant, efficiency, energies } from './rules.ts';
import { aPlantOnAxis, aPlantPerStep, aRunState, aService, flowsOfLength, levelsOfLength } from './run-rules.ts';
import { checkApart } from './work-arrays.ts';

/**
 * Executes levels over intervals `[from, to)`: the one loop of physics that every strategy runs through.
 *
 * @param state energy stored at the start of `from`; carries it on to `to`
 * @param flows zeros from `from` on, as `makeFlows` gives them: zeros are left as they are
 * @throws InputError on levels that are NaN, caps below 0, arrays of another length or shared (`shared-array`), `to` before
 * `from`, more stored than fits
 * @see docs/concepts/plant.md
 */
export function executeLevels(
  plant: PlantOnAxis,
  levels: Levels,
  from: number,
  to: number,
  state: RunState,
  flows: Flows,
): void {
  check(
    { plant, levels, state, flows },
    { plant: aPlantOnAxis, levels: levelsOfLength, state: aRunState, flows: flowsOfLength },
  );
  checkApart({ flows, levels }, [plant, plant.source, plant.axis.calendar]);
  const n = plant.axis.intervals;
  check({ from }, { from: number({ whole: true, least: 0, most: n }) });
  check({ to }, { to: number({ whole: true, least: from, most: n }) });
  const at = firstBadLevel(levels, from, to);
  if (at >= 0)
    throw new InputError([
      {
        code: 'not-finite',
        where: { path: ['levels', at] },
        received: 'a level that is not a number, or a cap below 0',
        expected: 'levels of stored energy and a cap of at least 0',
      },
    ]);
  execute(plant, levels, from, to, state, flows);
}

/**
 * The home without the plant: no battery, no standby, no inverter limit, the same service limits. O(n).
 * This is the baseline that savings are measured against.
 *
 * @throws InputError on series of another length, negative or not finite; `shared-array` where flows share memory with a series
 */
export function executeWithoutPlant(
  axis: Axis,
  loadKwh: Float64Array,
  solarKwh: Float64Array,
  service: Service,
  flows: Flows,
): void {
  check(
    { axis, loadKwh, solarKwh, service, flows },
    { axis: anAxis, loadKwh: energies, solarKwh: energies, service: aService, flows: flowsOfLength },
  );
  checkApart({ flows }, [loadKwh, solarKwh, axis.calendar]);
  executeWithout(axis, loadKwh, solarKwh, service, flows);
}

/**
 * The state before the first interval.
 * @throws InputError on a start that is no energy
 */
export function startState(plant: { readonly startKwh: number }): RunState {
  check({ plant }, { plant: record<typeof plant>({ startKwh: amount }) });
  return stateOf(plant);
}

/**
 * The plant in energies of the axis' step. Cheap: a few numbers, and an entry an interval where cold stops charging.
 * @throws InputError on a plant or a service out of range
 */
export function plantPerStep(plant: Plant, axis: Pick<Axis, 'stepHours'>, service?: Service): PlantPerStep {
  check(
    { plant, axis, service },
    {
      plant: aPlant,
      axis: record<typeof axis>({ stepHours: number({ above: 0, most: 8784 }) }),
      service: optional(aService),
    },
  );
  return perStep(plant, axis, service);
}

/**
 * Lays a plant on a home's axis: the only reader of a plant and its service for all that runs or plans it. O(n).
 *
 * @param service no limits where left out
 * @param former the same home with another plant: what depends on load and sun alone is taken over from it
 * @throws InputError on a plant or a service out of range, and on series of another length, negative or not finite
 */
export function plantOnAxis(
  plant: Plant,
  axis: Axis,
  loadKwh: Float64Array,
  solarKwh: Float64Array,
  service?: Service,
  former?: PlantOnAxis,
): PlantOnAxis {
  check(
    { axis, plant, loadKwh, solarKwh, service, former },
    {
      axis: anAxis,
      plant: aPlant,
      loadKwh: energies,
      solarKwh: energies,
      service: optional(aService),
      former: optional(aPlantOnAxis),
    },
  );
  return layPlant(plant, axis, loadKwh, solarKwh, service, former);
}

const notUnderShutdown: Rule = (value, path, looking) => {
  const { shutdownKwh, capacityKwh } = value as PlantPerStep;
  if (typeof capacityKwh === 'number' && shutdownKwh > capacityKwh * (1 + 1e-9))
    report(looking, [...path, 'shutdownKwh'], 'above-capacity', shutdownKwh, `at most ${capacityKwh} kWh`);
};

/**
 * The plant as it is while the grid is gone.
 * @throws InputError on a plant or margins out of range
 */
export function islanded(plant: PlantPerStep, margins: IslandMargins = {}): IslandedPlant {
  check(
    { plant, margins },
    {
      plant: aPlantPerStep,
      margins: record<IslandMargins>({
        energyShare: optional(efficiency),
        gaugeErrorKwh: optional(amount),
        fullMarginKwh: optional(amount),
        coldSteps: optional(bytes({ least: 0, most: 1 })),
      }),
    },
  );
  check({ plant }, { plant: notUnderShutdown });
  return island(plant, margins);
}
