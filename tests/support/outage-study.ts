import { type Island, islandOf, movingFloor } from '@duskbank/core/outage';
import type { Plant } from '@duskbank/core/plant';
import { parseSite } from '@duskbank/core/site';
import type { Study } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { makeCase } from '@duskbank/core/trial';
import { plainPlant, seededHome } from './homes.ts';

/** A study of a seeded home with a backup section of its own: two units of 3.8 kWh and 6 kW. */
export function outageStudy(
  backup: object,
  over: {
    plant?: Partial<Plant>;
    battery?: object;
    days?: number;
    solarKw?: number;
    seed?: number;
    zone?: string;
  } = {},
): Study {
  const { days = 28, solarKw = 3, seed = 11, zone = 'America/Denver' } = over;
  const site = parseSite(
    {
      format: 'duskbank.site/1',
      name: 'Tern Cottage',
      zone,
      meter: { files: ['home.csv'] },
      tariff: 'tariff.json',
      plant: {
        battery: {
          units: 2,
          maxUnits: 4,
          usableKwh: 3.8,
          chargeKw: 3,
          dischargeKw: 6,
          roundTripEfficiency: 0.9,
          modules: { perUnit: 0, maxPerUnit: 3, usableKwh: 3.8 },
          ...over.battery,
        },
      },
      backup,
    },
    'site.json',
  );
  const plant = plainPlant({ floorKwh: 1.52, shutdownKwh: 0.38, startKwh: 1.52, standbyW: 20, ...over.plant });
  const home = seededHome(seed, { days, stepMinutes: 30, startEpochMs: Date.UTC(2026, 0, 5, 7), zone, solarKw }, plant);
  const island: Island = islandOf({ ...home, backup: site.backup });
  const reserve = site.backup?.reserve;
  const moved =
    reserve === undefined
      ? plant
      : {
          ...plant,
          floorKwh: movingFloor({ axis: home.axis, plant, reserve, islandLoadKwh: island.loadKwh }).floorKwh,
        };
  return {
    site,
    home: makeCase({ ...home, plant: moved }, island),
    siteService: home.service,
    meteredSolarKwh: home.solarKwh,
    plannedSolar: undefined,
    tariff: parseTariff({
      format: 'duskbank.tariff/1',
      name: home.tariff.name,
      currency: 'USD',
      windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.2 }],
    }),
    tariffOptions: {},
    successors: [],
    island,
    warnings: [],
    meteredStepMinutes: 30,
    loadKnown: true,
    savingsWithheld: undefined,
    estimatedShare: 0,
    estimatedPeakShare: 0,
  };
}
