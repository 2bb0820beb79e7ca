import type { Axis } from '../axis/index.ts';
import { anAxis } from '../axis/inside.ts';
import { check, optional, type Rule, record, report } from '../input/door.ts';
import { InputError } from '../input/index.ts';
import type { Plant, PlantOnAxis, Service } from '../plant/index.ts';
import { aPlant, aPlantOnAxis, aService, energies, plantOnAxis } from '../plant/inside.ts';
import type { CompiledTariff } from '../tariff/index.ts';
import { aCompiledTariff } from '../tariff/inside.ts';

/** A home on one axis, ready for any strategy. Series are kWh an interval, finite and not negative. */
export interface Home {
  readonly axis: Axis;
  readonly loadKwh: Float64Array;
  readonly solarKwh: Float64Array;
  readonly tariff: CompiledTariff;
  readonly plant: Plant;
  readonly service: Service;
}

/**
 * The home's plant laid on its axis: what the loop, the optimum and the search of settings read. O(n).
 *
 * @param former the same home with another plant: what depends on load and sun alone is taken over from it
 * @throws InputError on a plant or a service out of range, and on series of another length, negative or not finite
 */
export function homeOnAxis(home: Omit<Home, 'tariff'>, former?: PlantOnAxis): PlantOnAxis {
  check(
    { home, former },
    {
      home: record<Omit<Home, 'tariff'>>({
        axis: anAxis,
        loadKwh: energies,
        solarKwh: energies,
        plant: aPlant,
        service: aService,
      }),
      former: optional(aPlantOnAxis),
    },
  );
  return layHome(home, former);
}

/** {@link homeOnAxis} of a home that was checked. */
export function layHome(home: Omit<Home, 'tariff'>, former?: PlantOnAxis): PlantOnAxis {
  return plantOnAxis(home.plant, home.axis, home.loadKwh, home.solarKwh, home.service, former);
}

/** What holds the arrays that a run of a home reads. */
export function arraysOf(home: Home): readonly unknown[] {
  return [home, home.plant, home.tariff, home.axis.calendar];
}

/** Whether two axes are the same stretch of time in the same steps and zone. */
export function sameAxis(a: Axis, b: Axis): boolean {
  return (
    a === b ||
    (a.startEpochMs === b.startEpochMs &&
      a.stepMinutes === b.stepMinutes &&
      a.intervals === b.intervals &&
      a.zone === b.zone)
  );
}

const homeFields = record<Home>({
  axis: anAxis,
  loadKwh: energies,
  solarKwh: energies,
  plant: aPlant,
  service: aService,
  tariff: aCompiledTariff,
});

/** A home whose tariff lies on the home's own axis. */
export const aHome: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  homeFields(value, path, looking);
  if (looking.issues.length > before) return;
  const { axis, tariff } = value as Home;
  looking.intervals = axis.intervals;
  if (!sameAxis(axis, tariff.axis))
    report(looking, [...path, 'tariff', 'axis'], 'axis-differs', 'another axis', 'the axis of the home');
};

/** @throws InputError `axis-differs` where a tariff lies on another axis than the home */
export function checkSameAxis(axis: Axis, tariff: CompiledTariff): void {
  if (sameAxis(axis, tariff.axis)) return;
  throw new InputError([
    {
      code: 'axis-differs',
      where: { path: ['tariff', 'axis'] },
      received: 'another axis',
      expected: 'the axis of the home',
    },
  ]);
}
