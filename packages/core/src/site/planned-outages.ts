import { type Island, movingFloor, type PlannedOutage } from '../outage/index.ts';
import { hasWarmHours, reserveInCold, startMsOf } from '../outage/inside.ts';
import { resolvePlant } from '../plant/index.ts';
import type { Case } from '../trial/index.ts';
import { type Fact, fact } from '../words/fact.ts';
import { HOME_WORDS } from '../words/home.ts';
import { plantOf } from './battery.ts';
import { hoursToFillBy } from './fill-hours.ts';
import type { Site } from './schema.ts';

/**
 * The site's planned outages, with the time that filling takes from the site's own floors with so much power, within what the
 * service leaves. All that prints one of them asks here.
 */
export function plannedOutages(
  { site, home, island }: { readonly site: Site; readonly home: Case; readonly island: Island },
  gridChargeKw = home.plant.chargeLimitKw,
): readonly PlannedOutage[] {
  const reserve = site.backup?.reserve;
  if (reserve?.planned === undefined) return [];
  const { axis, plant } = home;
  // The home's floors have been raised already; the verdict is about filling up from the site's own.
  const floorKwh = island.medical && plant.gridCharging ? plant.capacityKwh : resolvePlant(plantOf(site)).floorKwh;
  const { planned } = movingFloor({
    axis,
    plant: { ...plant, floorKwh },
    reserve: reserveInCold(site.backup ?? {})!,
    islandLoadKwh: island.loadKwh,
    energyShare: island.energyShare,
    gaugeErrorKwh: island.gaugeErrorKwh,
  });
  return planned.map((outage) => {
    const { verdict, interval, noticeHours } = outage;
    if (verdict === 'off-axis') return outage;
    const fillKwh = outage.fillHours * plant.chargeLimitKw * plant.chargeEfficiency;
    const fillHours = hoursToFillBy(home, fillKwh, gridChargeKw, [interval]);
    if (verdict !== 'in-time' || fillHours <= 1e-9) return { ...outage, fillHours };
    const isWarm = hasWarmHours(axis, site.backup?.cold, startMsOf(axis, outage), noticeHours, fillHours);
    return {
      ...outage,
      fillHours,
      verdict: fillHours > noticeHours + 1e-9 ? 'too-late' : isWarm ? verdict : 'too-cold',
    };
  });
}

/** What of a planned outage is told. */
type ToldOutage = Pick<PlannedOutage, 'from' | 'to' | 'noticeHours' | 'interval' | 'verdict'> & {
  readonly fillHours: number | null;
  /** Of one that has begun no notice is told any more: what is stored counts. */
  readonly begun?: boolean;
};

/** What is told of those that the battery can't be promised to be full for, and of those that no figure holds. */
export function plannedFacts(
  planned: readonly ToldOutage[],
  statedOutages: readonly { readonly from: string }[] = [],
): Fact[] {
  const list = ['backup', 'reserve', 'planned'];
  const facts = planned.flatMap(({ verdict, from, noticeHours, fillHours, begun }) => {
    if (begun === true || verdict === 'in-time' || verdict === 'off-axis') return [];
    const data =
      verdict === 'too-late'
        ? { from, verdict, noticeHours, fillHours: fillHours ?? Number.POSITIVE_INFINITY }
        : { from, verdict };
    const stated = statedOutages.findIndex((each) => each.from === from);
    return [fact(HOME_WORDS, 'planned-outage', 'warning', data, { path: [...list, ...(stated < 0 ? [] : [stated])] })];
  });
  const beyond = planned.filter(({ interval }) => interval < 0);
  if (beyond.length === 0) return facts;
  const data = { outages: beyond.length, from: beyond[0]!.from, to: beyond.at(-1)!.to };
  return [...facts, fact(HOME_WORDS, 'planned-outages-beyond', 'warning', data, { path: list })];
}

/** Warnings with what a result itself has found of the planned outages, in place of what the study says of them. */
export function retellPlanned(warnings: readonly Fact[], planned: readonly ToldOutage[]): Fact[] {
  const isPlanned = ({ code }: Fact) => code === 'planned-outage' || code === 'planned-outages-beyond';
  const told = plannedFacts(planned).map((one) => ({
    ...one,
    where: warnings.find((each) => each.code === one.code && each.data.from === one.data.from)?.where ?? one.where,
  }));
  const at = warnings.findIndex(isPlanned);
  const others = warnings.filter((warning) => !isPlanned(warning));
  return at < 0 ? [...others, ...told] : [...others.slice(0, at), ...told, ...others.slice(at)];
}
