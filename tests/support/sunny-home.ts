import { makeAxis } from '@duskbank/core/axis';
import { parseSite } from '@duskbank/core/site';
import { makeStudy, type Study } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';

const DAYS = 84;

const TWO_CHEAP_SPELLS = [
  { name: 'night', from: '22:00', to: '06:00', pricePerKwh: 0.62 },
  { name: 'noon', from: '13:00', to: '15:00', pricePerKwh: 0.62 },
  { name: 'day', otherwise: true, pricePerKwh: 1.19 },
];

/** How much of the sun a day has. */
const everySixthDull = (day: number): number => (day % 6 === 5 ? 0.1 : 1);

/** Dear evenings: what charges through the day before them from the sun, and else from the grid, is full by then. */
export const DEAR_EVENING = [
  { name: 'peak', from: '17:00', to: '22:00', pricePerKwh: 1.36 },
  { name: 'night', from: '23:00', to: '07:00', pricePerKwh: 0.4 },
  { name: 'day', otherwise: true, pricePerKwh: 0.68 },
];

/**
 * A sunny home with cheap hours at noon and at night. On sunny days its own sun fills the battery for the evening, on dull ones (every
 * sixth) nothing does: what charges at noon lasts through every evening, what charges at night through every morning.
 */
export function sunnyHome(
  solarKw: number,
  windows: readonly object[] = TWO_CHEAP_SPELLS,
  skies = everySixthDull,
  backup: { readonly goalHours?: number } = {},
): Study {
  const axis = makeAxis({ startEpochMs: Date.UTC(2026, 3, 6), stepMinutes: 30, intervals: DAYS * 48, zone: 'Etc/UTC' });
  const sunAt = (i: number) => {
    const hour = (i % 48) / 2;
    const clear = skies(Math.floor(i / 48));
    return hour < 8 || hour > 18 ? 0 : 0.5 * solarKw * clear * Math.sin((Math.PI * (hour - 8)) / 10);
  };
  const solarKwh = Float64Array.from({ length: axis.intervals }, (_, i) => sunAt(i));
  const loadKwh = Float64Array.from({ length: axis.intervals }, (_, i) => (i % 48 >= 34 && i % 48 < 46 ? 0.42 : 0.16));
  const net = loadKwh.map((kwh, i) => kwh - solarKwh[i]!);
  const series = {
    axis,
    importKwh: net.map((kwh) => Math.max(0, kwh)),
    exportKwh: net.map((kwh) => Math.max(0, -kwh)),
    solarKwh,
  };
  const site = parseSite({
    format: 'duskbank.site/1',
    name: 'Lime Lane 8',
    zone: 'Etc/UTC',
    meter: { files: ['none.csv'] },
    tariff: 'none.json',
    plant: {
      battery: { units: 1, usableKwh: 7, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.9, standbyW: 10 },
      floor: { share: 0.2 },
      controller: { windowsPerDay: 1 },
    },
    backup: { load: { watts: 350 }, ...backup },
  });
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Two Cheap Spells',
    currency: 'PLN',
    windows,
    export: { kind: 'none' },
  });
  return makeStudy({ site, series, tariff });
}
