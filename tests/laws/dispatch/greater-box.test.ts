import { type Controller, followSheet, homeOnAxis, runStrategy, searchSettings } from '@duskbank/core/dispatch';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';

const at = (hour: number) => `${String(hour % 24).padStart(2, '0')}:00`;

/** Boxes, each of which can be told all that those before it can. */
const BOXES: readonly Controller[] = [
  { windowsPerDay: 1, seasons: 1, weekends: false, clockMinutes: 30 },
  { windowsPerDay: 1, seasons: 2, weekends: false, clockMinutes: 30 },
  { windowsPerDay: 1, seasons: 2, weekends: true, clockMinutes: 30 },
  { windowsPerDay: 2, seasons: 2, weekends: true, clockMinutes: 30 },
];

/** Weeks on either side of the first of June, so that seasons are told apart. A sheet is held to the data that it was found on. */
test('what a box can be told is among what is weighed for one that can be told more', () => {
  let judged = 0;
  fc.assert(
    fc.property(
      fc.record({
        seed: fc.nat(),
        days: fc.constantFrom(28, 56),
        peakFrom: fc.constantFrom(15, 16, 17),
        peakHours: fc.constantFrom(3, 4, 5),
        earlier: fc.constantFrom(0, 1),
        peak: fc.constantFrom(0.3, 0.45),
        low: fc.constantFrom(0.08, 0.15),
        allDays: fc.boolean(),
        solarKw: fc.constantFrom(0, 0, 3),
        kw: fc.constantFrom(3, 5),
        standbyW: fc.constantFrom(0, 20),
      }),
      ({ seed, days, peakFrom, peakHours, earlier, peak, low, allDays, solarKw, kw, standbyW }) => {
        const dear = (from: number, months: readonly number[], name: string) => ({
          name,
          months,
          ...(allDays ? {} : { days: 'weekday' }),
          from: at(from),
          to: at(from + peakHours),
          pricePerKwh: peak,
        });
        const document = {
          format: 'duskbank.tariff/1',
          name: 'by hand',
          currency: 'USD',
          windows: [
            dear(peakFrom, [10, 11, 12, 1, 2, 3, 4, 5], 'peak'),
            dear(peakFrom - earlier, [6, 7, 8, 9], 'summer peak'),
            { name: 'off', otherwise: true, pricePerKwh: low },
          ],
          export: { kind: 'none' },
        };
        const home = seededHome(
          seed,
          // Half of the days on either side of the first of June.
          {
            days,
            stepMinutes: 60,
            startEpochMs: Date.UTC(2026, 5, 1) - (days / 7) * 3 * 86_400_000,
            zone: 'Etc/UTC',
            solarKw,
          },
          plainPlant({ capacityKwh: 10, floorKwh: 2, startKwh: 10, chargeLimitKw: kw, dischargeLimitKw: 5, standbyW }),
          openService,
          (axis) => compileTariff(parseTariff(document), axis),
        );
        const onAxis = homeOnAxis(home);
        const { tariff } = home;
        const hoursOf = (socKwh: Float64Array) => socKwh.map((kwh) => Math.max(0, kwh - 0.5) / 0.4);
        const sheets = BOXES.map((box) => {
          const { all, lights } = searchSettings(onAxis, tariff, box, undefined, { hoursOf });
          const { flows } = runStrategy(followSheet(all), home, { onAxis });
          const cost = flows.importKwh.reduce((sum, kwh, i) => sum + kwh * tariff.importPricePerKwh[i]!, 0);
          return { cost, hours: lights!.hours, least: cost - lights!.givenUp, most: lights!.most };
        });
        for (const [b, greater] of sheets.entries())
          for (const lesser of sheets.slice(0, b)) {
            if (lesser.cost > greater.least + greater.most) continue;
            judged++;
            expect(greater.hours).toBeGreaterThanOrEqual(lesser.hours - 0.5);
          }
      },
    ),
    { seed: 20261128, numRuns: 60 },
  );
  expect(judged).toBeGreaterThan(100);
}, 120_000);
