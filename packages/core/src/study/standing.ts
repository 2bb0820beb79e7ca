import type { DatedReserve, ReservePlan } from '../dispatch/index.ts';
import { movingFloor } from '../outage/index.ts';
import { reserveInCold, storedAtStart } from '../outage/inside.ts';
import type { Plant } from '../plant/index.ts';
import type { Study } from '../site/index.ts';
import { type Case, withPlant } from '../trial/index.ts';
import { givenAtStartKwh, startEnergyCharge } from '../trial/inside.ts';

/**
 * The home with another standing reserve, what a sheet keeps then, and what filling up to it costs once.
 * @param inMonths what is set by hand in some months besides what the site asks for
 */
export function standingAt(
  study: Study,
  reserve: ReservePlan,
  floorShare: number,
  inMonths: readonly DatedReserve[] = [],
): { readonly at: Case; readonly plan: ReservePlan; readonly filling: number } {
  const { home } = study;
  const { plant, tariff } = home;
  const at = withPlant(home, withStanding(study, floorShare * plant.capacityKwh, inMonths));
  // A fuller reserve has to be filled: from the home's own floor on, as the home pays for what it starts with.
  const toFloor = startEnergyCharge({
    plant: { ...at.plant, floorKwh: Math.min(givenAtStartKwh(plant), at.plant.startKwh) },
    tariff,
  });
  const filling = toFloor - startEnergyCharge({ plant: at.plant, tariff });
  // In whole percents where it is a whole percent: 100 × 0.55 is a hair more than 55.
  const reservePercent = Number((100 * floorShare).toPrecision(12));
  return { at, plan: { ...reserve, reservePercent, dated: [...reserve.dated, ...inMonths] }, filling };
}

/**
 * The plant with another standing floor, and what the site keeps at dates above it. It starts at its own floor, so that no
 * point is given energy for nothing that another isn't.
 */
function withStanding({ home, site, island }: Study, standingKwh: number, inMonths: readonly DatedReserve[]): Plant {
  const more = inMonths.flatMap(({ when, reservePercent }) =>
    'months' in when ? [{ months: [...when.months], share: reservePercent / 100 }] : [],
  );
  const stated = site.backup ?? {};
  const backup =
    more.length === 0
      ? stated
      : { ...stated, reserve: { ...stated.reserve, byMonth: [...(stated.reserve?.byMonth ?? []), ...more] } };
  const { byMonth, planned } = reserveInCold(backup) ?? {};
  const plant: Plant = { ...home.plant, floorKwh: standingKwh, startKwh: standingKwh, floorFromPast: false };
  if (island.medical || (byMonth === undefined && planned === undefined)) return plant;
  const reserve = { ...(byMonth === undefined ? {} : { byMonth }), ...(planned === undefined ? {} : { planned }) };
  const { floorKwh, floorAsKnown } = movingFloor({ axis: home.axis, plant, reserve, islandLoadKwh: island.loadKwh });
  const startKwh = storedAtStart(home.axis, floorKwh[0]!, standingKwh, plant.capacityKwh, backup);
  return { ...plant, floorKwh, floorAsKnown, startKwh };
}
