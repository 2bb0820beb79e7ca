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

test('a row of its own for weekends that changes no money and no hours is none', () => {
  // Nobody is home at weekends: whatever is entered for them does nothing.
  const axis = makeAxis({
    startEpochMs: Date.UTC(2026, 0, 5, 7),
    // To a Friday: what is stored on a last weekend would be paid for, and used no more.
    intervals: 54 * 24,
    stepMinutes: 60,
    zone: 'America/Denver',
  });
  const { weekday } = axis.calendar;
  const loadKwh = Float64Array.from(weekday, (day) => (day >= 6 ? 0 : 0.6));
  const rates = {
    format: 'duskbank.tariff/1',
    name: 'Two Prices',
    currency: 'USD',
    windows: [
      { name: 'evening', from: '17:00', to: '21:00', days: 'weekday', pricePerKwh: 0.5 },
      { name: 'rest', otherwise: true, pricePerKwh: 0.1 },
    ],
  };
  const tariff = compileTariff(parseTariff(rates), axis);
  const plant = plainPlant({ capacityKwh: 8, chargeLimitKw: 3, dischargeLimitKw: 3, startKwh: 0 });
  const solarKwh = new Float64Array(axis.intervals);
  const onAxis = homeOnAxis({ axis, loadKwh, solarKwh, plant, service: openService });
  const controller = { windowsPerDay: 2, seasons: 1, weekends: true, clockMinutes: 30 };
  const { all, odd } = searchSettings(onAxis, tariff, controller);
  expect(all.schedules.map(({ days }) => days)).toEqual(['every day']);
  expect(all.schedules[0]!.charge).not.toBeNull();
  expect(odd.schedules.length).toBeGreaterThan(0);
});
