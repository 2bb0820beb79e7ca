import { energyCosts, followSheet, homeOnAxis, runStrategy, searchSettings, weekParity } from '@duskbank/core/dispatch';
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
  const parity = weekParity(home.axis);
  const costs = (sheet: typeof found.all) =>
    energyCosts(home.tariff, runStrategy(followSheet(sheet), home, { onAxis }).flows, parity);

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
