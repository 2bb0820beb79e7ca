import { type Home, homeOnAxis } from '../dispatch/index.ts';
import { InputError } from '../input/index.ts';
import type { Island } from '../outage/index.ts';
import type { Plant, PlantOnAxis, Service } from '../plant/index.ts';
import type { CompiledTariff } from '../tariff/index.ts';

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

/** A home with its plant laid on its axis. O(n). */
export function makeCase({ axis, loadKwh, solarKwh, tariff, plant, service }: Home, island?: Island): Case {
  return layCase({ axis, loadKwh, solarKwh, tariff, plant, service }, island);
}

/**
 * The same home with another plant. What depends on load and sun alone is taken over, so that a sweep of plants costs
 * its runs and bills.
 */
export function withPlant(of: Case, plant: Plant): Case {
  return layCase({ ...of, plant }, of.island, of.onAxis);
}

/**
 * The same home on another tariff, which must lie on the same axis.
 *
 * @param service where the tariff lets more or less be exported than the home's present one @defaultValue the home's own
 */
export function withTariff(of: Case, tariff: CompiledTariff, service: Service = of.service): Case {
  return service === of.service ? { ...of, tariff } : layCase({ ...of, tariff, service }, of.island, of.onAxis);
}

/**
 * The same home with another load or other solar, kWh an interval.
 *
 * @param island what an outage asks then; left out, it is undefined: the former one was made of the former load
 */
export function withLoad(of: Case, loadKwh: Float64Array, solarKwh: Float64Array = of.solarKwh, island?: Island): Case {
  return layCase({ ...of, loadKwh, solarKwh }, island);
}

function layCase(
  { axis, loadKwh, solarKwh, tariff, plant, service }: Home,
  island?: Island,
  former?: PlantOnAxis,
): Case {
  const laidFrom = { axis, loadKwh, solarKwh, plant, service };
  return { ...laidFrom, tariff, onAxis: homeOnAxis(laidFrom, former), island, laidFrom };
}

/**
 * @throws InputError `stale-case` where a case was copied with another plant, load, sun, service or axis, and the plant on
 * its axis is still the former one
 */
export function refuseStale(of: Case): void {
  const stale = (['axis', 'loadKwh', 'solarKwh', 'plant', 'service'] as const).filter(
    (name) => of[name] !== of.laidFrom[name],
  );
  if (stale.length === 0) return;
  throw new InputError(
    stale.map((name) => ({
      code: 'stale-case',
      where: { path: [name] },
      received: `a case that was copied with another \`${name}\``,
      expected: 'what its plant was laid on the axis with',
      hint: 'change a case by withPlant, withTariff or withLoad, or make it anew with makeCase',
    })),
  );
}
