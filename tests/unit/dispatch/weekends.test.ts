import { makeAxis } from '@duskbank/core/axis';
import { followSheet, homeOnAxis, runStrategy, type SheetSchedule, searchSettings } from '@duskbank/core/dispatch';
import { billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { openService, plainPlant } from '../../support/homes.ts';
import { INVENTED_HOMES, INVENTED_TARIFFS, inventedHome } from '../../support/invented.mjs';

const NIGHT = { fromMinute: 22 * 60, toMinute: 7 * 60 };

// A battery that is full on Sunday evening is worth a lot to a Monday without a window, and nothing to one that fills by night.
test('weekends are judged beside weekdays as they are entered: none fills for a Monday whose own night fills', () => {
  const data = inventedHome(INVENTED_HOMES.find(({ name }) => name === 'car charged at night')!);
  const { loadKwh, solarKwh } = data;
  const axis = makeAxis(data);
  const tariff = compileTariff(parseTariff(INVENTED_TARIFFS.window), axis);
  const plant = plainPlant({
    capacityKwh: 13.5,
    chargeLimitKw: 3,
    dischargeLimitKw: 6,
    chargeEfficiency: Math.sqrt(0.85),
    dischargeEfficiency: Math.sqrt(0.85),
    batteryExport: true,
  });
  const home = { axis, loadKwh, solarKwh, tariff, plant, service: openService };
  const onAxis = homeOnAxis(home);
  const controller = { windowsPerDay: 2, seasons: 2, weekends: true, clockMinutes: 30 };
  const { all } = searchSettings(onAxis, tariff, controller);
  const billOf = (schedules: readonly SheetSchedule[]) =>
    billTotal(tariff, runStrategy(followSheet({ ...all, schedules }), home, { onAxis }).flows);
  const byNight = all.schedules.map((schedule) =>
    schedule.days === 'weekends' ? { ...schedule, charge: NIGHT, chargeToPercent: 100, discharge: null } : schedule,
  );
  expect(byNight.some(({ days }) => days === 'weekends')).toBe(true);
  // A window must earn 1/2000 of the bill to be entered.
  expect(billOf(all.schedules)).toBeLessThanOrEqual(billOf(byNight) + 1.5);
});
