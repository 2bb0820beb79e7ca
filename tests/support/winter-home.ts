import { makeAxis } from '@duskbank/core/axis';
import { parseIntervalData } from '@duskbank/core/meter';
import { parseSite } from '@duskbank/core/site';
import { makeStudy, type Study } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { seeded } from './homes-plain.ts';

const ZONE = 'America/Denver';

/**
 * A home without solar whose tariff pays for shifting energy on winter mornings alone: one price for the rest of the
 * year, at which every kWh stored loses money. As files, and read the way the command line reads them.
 */
export function winterHome(controller: Record<string, unknown>, standbyW = 8) {
  const site = {
    format: 'duskbank.site/1',
    name: 'Cold Ridge 4, Harlow Pass',
    zone: ZONE,
    meter: { files: ['home.csv'] },
    tariff: 'tariff.json',
    plant: {
      battery: { units: 1, usableKwh: 5, chargeKw: 2.5, dischargeKw: 2.5, roundTripEfficiency: 0.85, standbyW },
      controller,
    },
  };
  const tariff = {
    format: 'duskbank.tariff/1',
    name: 'Winter Morning',
    currency: 'USD',
    seasons: [
      { name: 'winter', months: [12, 1, 2] },
      { name: 'rest', months: [3, 4, 5, 6, 7, 8, 9, 10, 11] },
    ],
    windows: [
      { name: 'morning', seasons: 'winter', from: '06:00', to: '10:00', pricePerKwh: 0.33 },
      { name: 'night', seasons: 'winter', from: '22:00', to: '06:00', pricePerKwh: 0.2 },
      { name: 'day', otherwise: true, pricePerKwh: 0.25 },
    ],
  };
  const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 1, 7), stepMinutes: 60, intervals: 8760, zone: ZONE });
  const random = seeded(4);
  const lines = ['start,load kWh'];
  for (let i = 0; i < axis.intervals; i++)
    lines.push(
      `${new Date(axis.startEpochMs + i * 3_600_000).toISOString().slice(0, 16)}Z,${(0.3 + 1.2 * random()).toFixed(3)}`,
    );
  const csv = `${lines.join('\n')}\n`;
  return {
    files: { 'site.json': JSON.stringify(site), 'tariff.json': JSON.stringify(tariff), 'home.csv': csv },
    study(plant: Record<string, unknown> = {}): Study {
      const { series } = parseIntervalData(csv, { zone: ZONE });
      return makeStudy({
        site: parseSite({ ...site, plant: { ...site.plant, ...plant } }),
        series: series!,
        tariff: parseTariff(tariff),
      });
    },
  };
}
