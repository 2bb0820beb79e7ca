import type { Home } from '../dispatch/index.ts';
import { aHome, checkSameAxis, layHome } from '../dispatch/inside.ts';
import { both, check, optional, type Rule, record, report, spanning, unlessMadeHere, vouchFor } from '../input/door.ts';
import { InputError } from '../input/issue.ts';
import { sameData } from '../input/same-data.ts';
import type { Island } from '../outage/index.ts';
import { anIsland } from '../outage/inside.ts';
import type { Plant, PlantOnAxis, Service } from '../plant/index.ts';
import { aPlant, aPlantOnAxis, aService, energies } from '../plant/inside.ts';
import type { CompiledTariff } from '../tariff/index.ts';
import { aCompiledTariff } from '../tariff/inside.ts';

/**
 * A home ready to be run: series, tariff, plant and service on one axis, the plant laid on it, and what an outage asks
 * of it. Plain data: it survives structured clone, so that a worker can be handed one.
 */
export interface Case extends Home {
  /** The plant laid on the axis: made once, read by every run. */
  readonly onAxis: PlantOnAxis;
  /** What the battery carries while the grid is down; undefined where nobody asks. */
  readonly island: Island | undefined;
  /** What {@link onAxis} was laid from: a copy with another of these is refused, since its runs would read the former. */
  readonly laidFrom: Omit<Home, 'tariff'>;
}

/** What {@link Case.onAxis} is laid from. */
const LAID_FROM = ['axis', 'loadKwh', 'solarKwh', 'plant', 'service'] as const;

/** The plant on its axis must be that of the home around it: a run reads both. */
const laidAsSaid: Rule = (value, path, looking) => {
  const of = value as Case;
  const before = looking.issues.length;
  for (const name of LAID_FROM)
    if (of[name] !== of.laidFrom[name])
      report(
        looking,
        [...path, name],
        'stale-case',
        `a case that was copied with another \`${name}\``,
        'what its plant was laid on the axis with',
        'change a case by withPlant, withTariff or withLoad, or make it anew with makeCase',
      );
  if (looking.issues.length === before && !sameData(layHome(of.laidFrom), of.onAxis))
    report(looking, [...path, 'onAxis'], 'contradiction', 'a plant on another axis', 'what makeCase lays on the axis');
};

const anObject = record<object>({});

const anyCase = unlessMadeHere(
  'case',
  both(
    aHome,
    record<Pick<Case, 'onAxis' | 'island' | 'laidFrom'>>({
      onAxis: aPlantOnAxis,
      island: optional(anIsland),
      laidFrom: anObject,
    }),
    laidAsSaid,
  ),
);

/** A case that one of its makers made, or a copy of one that holds together. */
export const aCase = spanning<Case>(anyCase, ({ axis }) => axis.intervals);

/**
 * A home with its plant laid on its axis. O(n).
 * @throws InputError on a home that is not sound, and an island of another length
 */
export function makeCase(home: Home, island?: Island): Case {
  check({ home, island }, { home: aHome, island: optional(anIsland) });
  return layCase(home, island);
}

/** What of a plant an island doesn't depend on: what normal running keeps back, and where it starts. */
const KEPT_BACK = ['floorKwh', 'floorFromPast', 'floorAsKnown', 'startKwh'] as const;

/**
 * The same home with another plant. What depends on load and sun alone is taken over, so that a sweep of plants costs
 * its runs and bills.
 *
 * @param island what an outage asks of this plant: which circuits it carries, how its gauge and age count. Left out, it is
 *   the former one where only the floor or the start differs, else undefined: make it with `islandOf`
 * @throws InputError on a plant out of range
 */
export function withPlant(of: Case, plant: Plant, island?: Island): Case {
  check({ case: of, plant, island }, { case: aCase, plant: aPlant, island: optional(anIsland) });
  const stillHolds = Object.entries({ ...of.plant, ...plant }).every(
    ([field, value]) => KEPT_BACK.some((name) => name === field) || sameData(value, of.plant[field as keyof Plant]),
  );
  return layCase({ ...of, plant }, island ?? (stillHolds ? of.island : undefined), of.onAxis);
}

/**
 * The same home on another tariff, which must lie on the same axis.
 *
 * @param service what may be imported and exported @defaultValue the home's own; where the tariff has another limit of export
 *   than the home's present one, no more than that
 * @throws InputError `axis-differs`; on a service that is none
 */
export function withTariff(of: Case, tariff: CompiledTariff, service: Service = serviceOn(of, tariff)): Case {
  check({ case: of, tariff, service }, { case: aCase, tariff: aCompiledTariff, service: aService });
  checkSameAxis(of.axis, tariff);
  if (service !== of.service) return layCase({ ...of, tariff, service }, of.island, of.onAxis);
  return vouchFor('case', { ...of, tariff });
}

/** The present limit was there when the home was metered, and is as high as what was metered; another one is new. */
function serviceOn(of: Case | undefined, tariff: CompiledTariff | undefined): Service {
  const service = of?.service as Service;
  if (tariff?.exportLimitKw === of?.tariff?.exportLimitKw) return service;
  return { ...service, exportLimitKw: Math.min(service?.exportLimitKw, tariff?.exportLimitKw ?? Number.NaN) };
}

/**
 * The same home with another load or other solar, kWh an interval. Limits of the service stay as they are.
 *
 * @param island what an outage asks then; left out, it is undefined: the former one was made of the former load
 * @throws InputError on series of another length, negative or not finite; `stale-floor` where the plant keeps hours of the
 *   former load
 */
export function withLoad(
  of: Case,
  loadKwh: Float64Array,
  solarKwh: Float64Array = of?.solarKwh,
  island?: Island,
): Case {
  check(
    { case: of, loadKwh, solarKwh, island },
    { case: aCase, loadKwh: energies, solarKwh: energies, island: optional(anIsland) },
  );
  if (of.plant.floorFromPast && !sameData(loadKwh, of.loadKwh))
    throw new InputError([
      {
        code: 'stale-floor',
        where: { path: ['case', 'plant', 'floorKwh'] },
        received: 'a floor that was reckoned from the former load',
        expected: 'a floor that goes with the new load',
        hint: 'first withPlant(case, { ...case.plant, floorKwh: …, floorFromPast: false })',
      },
    ]);
  return layCase({ ...of, loadKwh, solarKwh }, island);
}

/** {@link withPlant} of a plant that differs in floor or start alone: nothing is checked. */
export function layAgain(of: Case, plant: Plant): Case {
  return layCase({ ...of, plant }, of.island, of.onAxis);
}

function layCase(
  { axis, loadKwh, solarKwh, tariff, plant, service }: Home,
  island?: Island,
  former?: PlantOnAxis,
): Case {
  const laidFrom = { axis, loadKwh, solarKwh, plant, service };
  return vouchFor('case', { ...laidFrom, tariff, onAxis: layHome(laidFrom, former), island, laidFrom });
}
