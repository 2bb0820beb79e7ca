import { homeOnAxis, searchSettings } from '@duskbank/core/dispatch';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';

// Under a demand charge each half has a charging power of its own: the even months' weak one doesn't fill the windows that the printed sheet charges longer in.
test('a sheet that ties on all of the data is not left for the charging power of one half', () => {
  const document = {
    format: 'duskbank.tariff/1',
    name: 'by hand',
    currency: 'EUR',
    windows: [
      { name: 'night', from: '22:00', to: '06:00', pricePerKwh: 0.12 },
      { name: 'noon', from: '11:00', to: '15:00', pricePerKwh: 0.14 },
      { name: 'day', otherwise: true, pricePerKwh: 0.3 },
    ],
    demand: [{ name: 'Power', pricePerKw: 4 }],
    export: { kind: 'none' },
  };
  const home = seededHome(
    14,
    { days: 92, stepMinutes: 60, startEpochMs: Date.UTC(2026, 2, 1), zone: 'Etc/UTC', solarKw: 4 },
    plainPlant({
      capacityKwh: 8,
      floorKwh: 0.8,
      startKwh: 0.8,
      chargeLimitKw: 3,
      dischargeLimitKw: 4,
      standbyW: 10,
    }),
    openService,
    (axis) => compileTariff(parseTariff(document), axis),
  );
  const { all, odd, even, lights } = searchSettings(
    homeOnAxis(home),
    home.tariff,
    { windowsPerDay: 1, seasons: 1, weekends: false, clockMinutes: 60 },
    undefined,
    {
      hoursOf: (socKwh) => socKwh.map((kwh) => Math.max(0, kwh - 0.3) / 0.35),
      evenings: Uint8Array.from({ length: home.axis.intervals }, (_, i) => (i % 24 >= 17 && i % 24 < 21 ? 1 : 0)),
    },
  );
  expect(lights!.givenUp).toBeLessThanOrEqual(lights!.most);
  // 4.20 h with 0.6 kW in the even months.
  expect(lights!.hours).toBeGreaterThan(5.5);
  expect([odd.gridChargeKw, even.gridChargeKw]).toEqual([all.gridChargeKw, all.gridChargeKw]);
});
