import { makeAxis } from '@duskbank/core/axis';
import { parseSite } from '@duskbank/core/site';
import { makeStudy, type Study } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';

export const DAYS = 56;

/**
 * Eight weeks without solar on a tariff of two prices, 0.45 from 17 to 21 h and 0.15 else; `evening` gives a day's load
 * in the dear hours, kW. An 8 kWh battery of 85 % round trip, no standby.
 */
export function twoPriceHome(options: {
  evening: (day: number) => number;
  plant?: Record<string, unknown>;
  economics?: Record<string, unknown>;
  backup?: Record<string, unknown>;
  /** Further fields of the site. */
  site?: Record<string, unknown>;
  /** Further fields of the tariff, such as demand charges. */
  tariff?: Record<string, unknown>;
  /** @defaultValue {@link DAYS} */
  days?: number;
}): Study {
  const site = parseSite({
    format: 'duskbank.site/1',
    name: 'Mill Row 2',
    zone: 'America/Denver',
    meter: { files: ['none.csv'] },
    tariff: 'none.json',
    plant: {
      battery: { units: 1, usableKwh: 8, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.85 },
      ...options.plant,
    },
    ...options.site,
    ...(options.backup === undefined ? {} : { backup: options.backup }),
    economics: { price: 5000, covers: 'one battery unit, installed', ...options.economics },
  });
  // Monday to Sunday, no clock change among them.
  const axis = makeAxis({
    startEpochMs: Date.UTC(2026, 3, 6, 6),
    stepMinutes: 60,
    intervals: (options.days ?? DAYS) * 24,
    zone: 'America/Denver',
  });
  const { minuteOfDay, day } = axis.calendar;
  const importKwh = Float64Array.from({ length: axis.intervals }, (_, i) =>
    minuteOfDay[i]! >= 17 * 60 && minuteOfDay[i]! < 21 * 60 ? options.evening(day[i]!) : 0.2,
  );
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Two Prices',
    currency: 'USD',
    windows: [
      { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.45 },
      { name: 'rest', otherwise: true, pricePerKwh: 0.15 },
    ],
    ...options.tariff,
  });
  return makeStudy({ site, series: { axis, importKwh } as never, tariff });
}
