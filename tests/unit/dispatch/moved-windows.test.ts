import { makeAxis } from '@duskbank/core/axis';
import { followSheet, homeOnAxis, runStrategy, type SheetSchedule, searchSettings } from '@duskbank/core/dispatch';
import { billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import { movedWindows } from '../../../packages/core/src/dispatch/settings/candidates.ts';
import { openService, plainPlant } from '../../support/homes.ts';
import { inventedHome } from '../../support/invented.mjs';

/** A car from 22 h on some nights, a dear stretch on weekdays from 16 to 20 h, and each month's highest interval paid for. */
function carAtNight() {
  const spec = { name: 'car', seed: 505, baseKw: 0.35, morningKw: 0.6, eveningKw: 1.6, carKw: 7.2, carFrom: 1 };
  const data = inventedHome(spec, 60);
  const { loadKwh, solarKwh } = data;
  const axis = makeAxis(data);
  const rates = {
    format: 'duskbank.tariff/1',
    name: 'Night and Peak',
    currency: 'USD',
    windows: [
      { name: 'peak', days: 'weekday', from: '16:00', to: '20:00', pricePerKwh: 0.3 },
      { name: 'off', otherwise: true, pricePerKwh: 0.12 },
    ],
    demand: [{ name: 'Demand', pricePerKw: 10 }],
    export: { kind: 'none' },
  };
  const tariff = compileTariff(parseTariff(rates), axis);
  const plant = plainPlant({
    capacityKwh: 10,
    floorKwh: 2,
    startKwh: 2,
    chargeLimitKw: 5,
    dischargeLimitKw: 5,
    chargeEfficiency: Math.sqrt(0.9),
    dischargeEfficiency: Math.sqrt(0.9),
    standbyW: 15,
  });
  const home = { axis, loadKwh, solarKwh, tariff, plant, service: openService };
  return { home, onAxis: homeOnAxis(home), tariff };
}

const hoursOf = (socKwh: Float64Array) => socKwh.map((kwh) => Math.max(0, kwh - 0.5) / 0.25);

// Filled on Friday evening a battery is full on Monday only if the weekend holds it: found after the weekdays were.
test('a battery fills in the evening and is full through the night, where that costs no more than a tie', () => {
  const { home, onAxis, tariff } = carAtNight();
  const controller = { windowsPerDay: 2, seasons: 1, weekends: true, clockMinutes: 30 };
  const { all, lights } = searchSettings(onAxis, tariff, controller, undefined, { hoursOf });
  const judge = (charge: SheetSchedule['charge']) => {
    const schedules = all.schedules.map((row) => (row.days === 'weekends' ? row : { ...row, charge }));
    const { flows } = runStrategy(followSheet({ ...all, schedules }), home, { onAxis });
    const hours = hoursOf(flows.socKwh).sort();
    return { bill: billTotal(tariff, flows), hours: hours[Math.floor(0.1 * (hours.length - 1))]! };
  };
  const sheet = judge(all.schedules.find(({ days }) => days === 'weekdays')!.charge);
  expect(sheet.hours).toBeCloseTo(lights!.hours, 6);
  const morning = judge({ fromMinute: 600, toMinute: 960 });
  expect(sheet.hours).toBeGreaterThan(2 * morning.hours);
  expect(sheet.bill - morning.bill).toBeLessThanOrEqual(lights!.most);
  let tied = 0;
  for (let from = 20; from < 40; from += 1)
    for (const to of [from + 2, from + 4, from + 6, 40]) {
      if (to > 40) continue;
      const other = judge({ fromMinute: (60 * from) % 1440, toMinute: (60 * to) % 1440 });
      // The cheapest of the search, at least, is no dearer than the sheet less what it gives up.
      if (other.bill > sheet.bill - lights!.givenUp + lights!.most) continue;
      tied++;
      expect(other.hours, `${from % 24}-${to % 24}`).toBeLessThanOrEqual(sheet.hours + 0.5);
    }
  expect(tied).toBeGreaterThan(4);
});

describe('windows that one is moved to', () => {
  const runs = [
    { fromMinute: 1260, toMinute: 420, price: 0.1 },
    { fromMinute: 420, toMinute: 960, price: 0.2 },
    { fromMinute: 960, toMinute: 1260, price: 0.4 },
  ];
  const hours = (from: number, to: number) =>
    movedWindows(runs, { fromMinute: 60 * from, toMinute: 60 * to }).map(
      ({ fromMinute, toMinute }) => `${fromMinute / 60}-${toMinute / 60}`,
    );

  test('lie in hours that are no dearer than those of the window, over midnight too', () => {
    expect(hours(5, 7)).toEqual([
      ...['21-23', '21-1', '21-3', '21-7', '23-1', '23-3', '23-5', '23-7', '1-3', '1-5', '1-7', '3-5', '3-7'],
    ]);
  });

  test('are more where it charges at a middle price', () => {
    const windows = hours(14, 16);
    expect(windows).toContain('21-16');
    expect(windows).toContain('7-13');
    expect(windows.some((window) => /^(16|17|18|19|20)-/.test(window))).toBe(false);
  });

  test('are none around all day, nor where no hour is dearer', () => {
    expect(movedWindows(runs, { fromMinute: 0, toMinute: 0 })).toEqual([]);
    expect(movedWindows([{ fromMinute: 0, toMinute: 0, price: 0.2 }], { fromMinute: 60, toMinute: 180 })).toEqual([]);
    expect(hours(16, 21)).toEqual([]);
  });
});
