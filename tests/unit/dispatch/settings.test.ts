import { followSheet, homeOnAxis, runStrategy, searchSettings } from '@duskbank/core/dispatch';
import { expect, test } from 'vitest';
import { openService, plainPlant, seededHome, windowTariff } from '../../support/homes.ts';

// With solar, so that what one way of charging sells another stores.
test('no sheet of the same form, tried by hand, beats the one found', () => {
  const shape = {
    days: 56,
    stepMinutes: 30,
    startEpochMs: Date.UTC(2026, 0, 5),
    zone: 'Etc/UTC',
    solarKw: 3,
  };
  const home = seededHome(
    12,
    shape,
    plainPlant({ floorKwh: 1, startKwh: 1, chargeLimitKw: 3, dischargeLimitKw: 4 }),
    openService,
    (axis) => windowTariff(axis, { sale: 0.05 }),
  );
  const onAxis = homeOnAxis(home);
  const controller = { windowsPerDay: 2, seasons: 1, weekends: false, clockMinutes: 30, gridCharging: true };
  const found = searchSettings(onAxis, home.tariff, controller);
  expect(found.windowsFailed).toBe(false);
  // Energy at its prices: in all of the data, in odd weeks, in even ones, counted from the first day as week 0.
  const intervalsPerWeek = 7 * 48;
  const costs = (sheet: typeof found.all) => {
    const { importKwh, exportKwh } = runStrategy(followSheet(sheet), home, { onAxis }).flows;
    const { importPricePerKwh, exportPricePerKwh } = home.tariff;
    const sums = [0, 0, 0];
    for (let i = 0; i < home.axis.intervals; i++) {
      const cost = importKwh[i]! * importPricePerKwh[i]! - exportKwh[i]! * exportPricePerKwh[i]!;
      sums[0]! += cost;
      sums[Math.floor(i / intervalsPerWeek) % 2 === 1 ? 1 : 2]! += cost;
    }
    return sums as [number, number, number];
  };

  const [schedule] = found.all.schedules;
  const hour = (h: number) => h * 60;
  let cheapest = Number.POSITIVE_INFINITY;
  for (const from of [0, 2, 3, 4])
    for (const chargeToPercent of [20, 40, 60, 80, 100])
      for (const discharge of [null, { fromMinute: hour(16), toMinute: hour(21) }]) {
        const charge = { fromMinute: hour(from), toMinute: hour(6) };
        const tried = { ...found.all, schedules: [{ ...schedule!, charge, chargeToPercent, discharge }] };
        cheapest = Math.min(cheapest, costs(tried)[0]);
      }
  expect(costs(found.all)[0]).toBeLessThanOrEqual(cheapest + 1e-6);
  // Each half's sheet is the best of the three on the half that it was searched on.
  expect(costs(found.odd)[1]).toBeLessThanOrEqual(costs(found.even)[1] + 1e-6);
  expect(costs(found.even)[2]).toBeLessThanOrEqual(costs(found.odd)[2] + 1e-6);
});
