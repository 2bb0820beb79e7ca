import { followSheet, homeOnAxis, runStrategy, type SheetSchedule, searchSettings } from '@duskbank/core/dispatch';
import { billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';

const at = (hour: number) => `${String(hour % 24).padStart(2, '0')}:00`;

/** One week, so that no half judges the other: a sheet is held to the data that it was found on. */
test('no charge window of a sheet, filled further within the tie sum, lasts longer by as much as money is given up for', () => {
  let tied = 0;
  let told = 0;
  fc.assert(
    fc.property(
      fc.record({
        seed: fc.nat(),
        nightFrom: fc.constantFrom(22, 23),
        nightTo: fc.constantFrom(5, 6, 7),
        night: fc.constantFrom(0.12, 0.2, 0.26),
        isDearInTheEvening: fc.boolean(),
        sale: fc.constantFrom(0, 0.09),
        solarKw: fc.constantFrom(0, 2, 4, 6),
        capacityKwh: fc.constantFrom(6, 10),
        kw: fc.constantFrom(3, 5),
        standbyW: fc.constantFrom(0, 15),
        weekends: fc.boolean(),
      }),
      ({ seed, nightFrom, nightTo, night, isDearInTheEvening, sale, solarKw, capacityKwh, kw, standbyW, weekends }) => {
        const evening = { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.36 };
        const document = {
          format: 'duskbank.tariff/1',
          name: 'by hand',
          currency: 'EUR',
          windows: [
            { name: 'night', from: at(nightFrom), to: at(nightTo), pricePerKwh: night },
            ...(isDearInTheEvening ? [evening] : []),
            { name: 'day', otherwise: true, pricePerKwh: 0.28 },
          ],
          export: sale === 0 ? { kind: 'none' } : { kind: 'net-billing', pricePerKwh: sale },
        };
        const home = seededHome(
          seed,
          { days: 7, stepMinutes: 60, startEpochMs: Date.UTC(2026, 2, 2), zone: 'Etc/UTC', solarKw },
          plainPlant({
            capacityKwh,
            floorKwh: 0.1 * capacityKwh,
            startKwh: 0.5 * capacityKwh,
            chargeLimitKw: kw,
            dischargeLimitKw: 5,
            standbyW,
          }),
          openService,
          (axis) => compileTariff(parseTariff(document), axis),
        );
        const onAxis = homeOnAxis(home);
        const { tariff } = home;
        const hoursOf = (socKwh: Float64Array) => socKwh.map((kwh) => Math.max(0, kwh - 0.3) / 0.35);
        const controller = { windowsPerDay: 1, seasons: 1, weekends, clockMinutes: 60 };
        const { all, lights } = searchSettings(onAxis, tariff, controller, undefined, { hoursOf });
        const run = (schedules: readonly SheetSchedule[]) => {
          const { flows } = runStrategy(followSheet({ ...all, schedules }), home, { onAxis });
          const hours = hoursOf(flows.socKwh).sort();
          return { bill: billTotal(tariff, flows), hours: hours[Math.floor(0.1 * (hours.length - 1))]! };
        };
        const sheet = run(all.schedules);
        expect(sheet.hours).toBeCloseTo(lights!.hours, 6);
        const enough = sheet.hours + Math.min(0.05 * sheet.hours, 0.4);
        const rows = [...all.schedules.keys()];
        for (const filled of [rows, ...(rows.length > 1 ? rows.map((s) => [s]) : [])])
          for (let percent = 20; percent <= 100; percent += 10) {
            const isRaised = ({ charge, chargeToPercent }: SheetSchedule, s: number) =>
              filled.includes(s) && charge !== null && chargeToPercent > 0 && chargeToPercent < percent;
            if (!all.schedules.some(isRaised)) continue;
            told++;
            const other = run(
              all.schedules.map((row, s) => (isRaised(row, s) ? { ...row, chargeToPercent: percent } : row)),
            );
            if (other.bill - sheet.bill > lights!.most - lights!.givenUp - 1e-9) continue;
            tied++;
            expect(other.hours, `up to ${percent} % in place of ${JSON.stringify(all.schedules)}`).toBeLessThan(
              Math.max(enough, sheet.hours + 0.02),
            );
          }
      },
    ),
    { seed: 20261128, numRuns: 150 },
  );
  expect(told).toBeGreaterThan(300);
  expect(tied).toBeGreaterThan(30);
}, 120_000);
