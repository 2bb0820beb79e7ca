import type { Axis } from '../axis/index.ts';
import { backupHours } from '../outage/index.ts';
import type { Plant } from '../plant/index.ts';
import type { Study } from '../site/index.ts';
import { plantOf } from '../site/inside.ts';
import { cheapestReaching, forgone, lowestInSeason, type Ways } from './hour-price.ts';
import type { OutageReport } from './outage-schema.ts';
import { type PlantSize, plantSizes } from './plant-sizes.ts';
import { keptInMonth } from './sheet-reserve.ts';
import { seasonLoad, stormNineInTen } from './storm.ts';

/** Hours of backup that are wished for where the site states none. */
const WISHED_HOURS = 8;

/** What must be kept back or filled to, or bought, for the wished hours in nine of ten starts of the storm season. */
export function wishOf(study: Study, ways: Ways): OutageReport['wish'] {
  const { home, island, site } = study;
  if (island.medical) return null;
  const { axis } = home;
  const { own } = ways;
  const hours = site.backup?.goalHours ?? WISHED_HOURS;
  const larger = largerPlants(study);
  const { loadKwh, harder } = seasonLoad(study);
  const wish = {
    hours,
    stated: site.backup?.goalHours !== undefined,
    now: own.row.stormHours!,
    fromReservePercent: Math.round(100 * own.floorShare),
    mayGrow: larger.length > 0,
    hardAtWork: harder.map(({ circuit }) => circuit),
  };
  const found = cheapestReaching(axis, ways, hours);
  const none = {
    reservePercent: null,
    toTargetPercent: null,
    costPerYear: null,
    costOnce: null,
    reached: null,
    units: null,
    modulesPerUnit: null,
    season: found === own ? null : seasonOf(axis, ways, hours),
  };
  if (found !== undefined) {
    const known = own.row.savingsPerYear !== null && found.row.savingsPerYear !== null;
    return {
      ...wish,
      ...none,
      reservePercent: Math.round(100 * found.floorShare),
      toTargetPercent: found.targetPercent,
      ...(known ? forgone(axis, own.row, found.row) : {}),
      reached: found.row.stormHours,
    };
  }
  // Not even full: what more would do it, kept full.
  for (const { units, modulesPerUnit, plant } of larger) {
    const full: Plant = { ...plant, floorKwh: plant.shutdownKwh, startKwh: plant.capacityKwh };
    const socKwh = new Float64Array(axis.intervals).fill(full.capacityKwh);
    const gaugeErrorKwh = (island.gaugeErrorKwh * full.capacityKwh) / home.plant.capacityKwh;
    const reached = stormNineInTen(
      study,
      backupHours({ axis, plant: full, socKwh, ...island, loadKwh, gaugeErrorKwh }),
    );
    if (reached >= hours - 1e-9) return { ...wish, ...none, reservePercent: 100, reached, units, modulesPerUnit };
  }
  return { ...wish, ...none };
}

/** A higher reserve in the storm months alone, set by hand and back at its dates. */
function seasonOf(axis: Axis, ways: Ways, hours: number): NonNullable<OutageReport['wish']>['season'] {
  const { own } = ways;
  const way = lowestInSeason(ways, hours);
  if (way?.dated === undefined || own.plan === undefined || own.row.savingsPerYear === null) return null;
  const { plan } = own;
  return {
    reservePercent: way.dated[0]!.reservePercent,
    turns: way.dated.flatMap(({ when }) =>
      'months' in when
        ? [
            {
              months: [...when.months],
              leadHours: when.leadHours ?? 0,
              thenPercent: keptInMonth(plan, (when.months.at(-1)! % 12) + 1),
            },
          ]
        : [],
    ),
    ...forgone(axis, own.row, way.row),
    reached: way.row.stormHours!,
  };
}

/** Plants of more units or modules than there are, from less energy to more. */
function largerPlants(study: Study): PlantSize[] {
  const { units, modules } = plantOf(study.site).battery;
  return plantSizes(study, { units, modulesPerUnit: modules?.perUnit ?? 0 }).filter(
    ({ plant }) => plant.capacityKwh > study.home.plant.capacityKwh + 1e-9,
  );
}
