import { type Home, none } from '../dispatch/index.ts';
import { aHome, playStrategy } from '../dispatch/inside.ts';
import { check } from '../input/door.ts';
import type { Flows } from '../plant/index.ts';
import { someFlows } from '../plant/inside.ts';
import type { Study } from '../site/index.ts';
import { aStudy } from '../site/inside.ts';
import type { ServiceFlows } from '../tariff/index.ts';

/**
 * What the tariff bills of a run: what passes the service, or under buy-all, sell-all the home's load and solar.
 * @throws InputError on flows of another length than the study's axis
 */
export function billedFlows(study: Study, flows: Flows, home: Home = study?.home): ServiceFlows {
  check({ study, flows, home }, { study: aStudy, flows: someFlows, home: aHome });
  return billedOf(study, flows, home);
}

/** {@link billedFlows} of a run of ours: nothing is checked. */
export function billedOf(study: Study, flows: ServiceFlows, home: Home = study.home): ServiceFlows {
  return home.tariff.metering === 'gross' ? { importKwh: home.loadKwh, exportKwh: home.solarKwh } : flows;
}

/** Energy above the floor before the first interval was bought once: the mean import price over the charging losses. */
export function startEnergyCharge({ home }: Pick<Study, 'home'>): number {
  const { plant, tariff } = home;
  const floorKwh = typeof plant.floorKwh === 'number' ? plant.floorKwh : plant.floorKwh[0]!;
  const aboveKwh = Math.max(0, plant.startKwh - floorKwh);
  if (aboveKwh === 0) return 0;
  const meanPrice =
    tariff.importPricePerKwh.reduce((total, price) => total + price, 0) / tariff.importPricePerKwh.length;
  return (aboveKwh / plant.chargeEfficiency) * meanPrice;
}

/** The home as metered, without the planned solar: the home itself where none is planned. */
export function meteredHome(study: Study): Home {
  return study.plannedSolar === undefined ? study.home : { ...study.home, solarKwh: study.meteredSolarKwh };
}

/** What passes the service without a battery. */
export function flowsWithoutPlant(home: Home): Flows {
  return playStrategy(none, home).flows;
}

/** What the battery's savings are measured against. */
export function againstWords(study: Study): string {
  return study.plannedSolar === undefined
    ? 'the home as metered, with its solar and no battery, on the same tariff'
    : 'the home with its planned solar and no battery, on the same tariff';
}
