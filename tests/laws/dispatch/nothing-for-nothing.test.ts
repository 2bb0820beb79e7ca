// What is given up for hours of backup is given up for hours: at any hour, or on evenings.
import { homeOnAxis, searchSettings } from '@duskbank/core/dispatch';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';

const document = (dearFrom: string) => ({
  format: 'duskbank.tariff/1',
  name: 'by hand',
  currency: 'EUR',
  windows: [
    { name: 'night', from: '22:00', to: '06:00', pricePerKwh: 0.17 },
    { name: 'dear', from: dearFrom, to: '20:00', pricePerKwh: 0.34 },
    { name: 'day', otherwise: true, pricePerKwh: 0.25 },
  ],
  export: { kind: 'net-billing', pricePerKwh: 0.03 },
});
const shape = { days: 168, stepMinutes: 60, startEpochMs: Date.UTC(2026, 3, 13), zone: 'Etc/UTC', solarKw: 5 };
const plant = plainPlant({
  capacityKwh: 8,
  floorKwh: 0.8,
  startKwh: 0.8,
  chargeLimitKw: 2,
  dischargeLimitKw: 4,
  chargeEfficiency: 0.95,
  dischargeEfficiency: 0.95,
});
const controller = { windowsPerDay: 1, seasons: 2, weekends: true, clockMinutes: 15 } as const;

test('rows of weekdays or weekends that last longer on evenings are not taken for idle', () => {
  let given = 0;
  for (const dearFrom of ['16:00', '17:00'])
    for (let seed = 1; seed <= 4; seed++) {
      const home = seededHome(seed, shape, plant, openService, (axis) =>
        compileTariff(parseTariff(document(dearFrom)), axis),
      );
      const { weekday } = home.axis.calendar;
      const isEvening = (i: number) => i % 24 >= 17 && i % 24 < 22 && weekday[i]! < 6;
      const { lights } = searchSettings(homeOnAxis(home), home.tariff, controller, undefined, {
        hoursOf: (socKwh) => socKwh.map((kwh) => kwh / 0.45),
        evenings: Uint8Array.from({ length: home.axis.intervals }, (_, i) => (isEvening(i) ? 1 : 0)),
      });
      const { hours, cheapestHours, givenUp, evenings } = lights!;
      if (givenUp < 0.01) continue;
      given++;
      const longer = Math.max(hours - cheapestHours, evenings!.hours - evenings!.cheapestHours);
      expect(longer, `home ${seed}, dear from ${dearFrom}, gives up ${givenUp.toFixed(2)}`).toBeGreaterThan(0.001);
    }
  expect(given).toBeGreaterThan(3);
});
