import { makeAxis } from '@duskbank/core/axis';
import {
  type FoundSheets,
  followSheet,
  none,
  type SettingsWishes,
  searchedSettings,
  selfConsumption,
} from '@duskbank/core/dispatch';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import { type Case, evaluate, makeCase } from '@duskbank/core/trial';
import { describe, expect, test } from 'vitest';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';

const ONE_WINDOW = { windowsPerDay: 1, seasons: 1, weekends: false, clockMinutes: 30 };

const PRICES = [
  { name: 'night', from: '23:00', to: '06:00', pricePerKwh: 0.11 },
  { name: 'evening', days: 'weekday', from: '16:00', to: '21:00', pricePerKwh: 0.41 },
  { name: 'rest', otherwise: true, pricePerKwh: 0.19 },
];

/** Weeks of summer in Denver, hour by hour, on a tariff with these fields beside its prices. */
function homeOf(fields: Record<string, unknown>, days = 56, windows: unknown[] = PRICES, solarKw = 3): Case {
  // 4 May 2026, 00:00 local: a Monday.
  const shape = { days, stepMinutes: 60, startEpochMs: Date.UTC(2026, 4, 4, 6), zone: 'America/Denver', solarKw };
  const plant = plainPlant({
    capacityKwh: 10,
    floorKwh: 2,
    startKwh: 2,
    chargeLimitKw: 5,
    dischargeLimitKw: 5,
    gridCharging: true,
  });
  return makeCase(
    seededHome(7, shape, plant, openService, (axis) =>
      compileTariff(
        parseTariff({ format: 'duskbank.tariff/1', name: 'Any', currency: 'USD', windows, ...fields }),
        makeAxis(axis),
      ),
    ),
  );
}

/** How long a battery of which nothing is known lasts: an hour a kWh. */
const hoursOf = (socKwh: Float64Array) => socKwh.slice();

function searched(home: Case, wishes: SettingsWishes = {}, controller = ONE_WINDOW) {
  const { sheets, bill } = evaluate(home, searchedSettings(controller, wishes), ['sheets', 'bill']);
  const sheet = evaluate(home, followSheet(sheets!.all), ['bill', 'flows']);
  return { found: sheets as FoundSheets, apart: bill.unrounded, bill: sheet.bill.unrounded, flows: sheet.flows };
}

const withoutWindows = (home: Case) => evaluate(home, selfConsumption, ['bill']).bill.unrounded;

describe('the bill that sheets are searched on', () => {
  test('under buy-all it is that of the two meters: a sheet typed in by hand is no cheaper', () => {
    const home = homeOf({ export: { kind: 'buy-all', name: 'Sale', pricePerKwh: 0.08 } });
    expect(home.tariff.metering).toBe('gross');
    const { found, bill } = searched(home);
    for (const hours of [2, 7])
      for (const chargeToPercent of [50, 100]) {
        const charge = { fromMinute: (360 - 60 * hours + 1440) % 1440, toMinute: 360 };
        const sheet = { ...found.all, schedules: [{ ...found.all.schedules[0]!, charge, chargeToPercent }] };
        const other = evaluate(home, followSheet(sheet), ['bill']).bill.unrounded;
        expect(bill).toBeLessThanOrEqual(other + 1e-6);
      }
  });

  test('what is sold at another price changes no sheet under buy-all', () => {
    const sheetAt = (pricePerKwh: number) =>
      searched(homeOf({ export: { kind: 'buy-all', name: 'Sale', pricePerKwh } }, 28)).found.all;
    expect(sheetAt(0.5)).toEqual(sheetAt(0.02));
  });
});

describe('what may be given up for hours', () => {
  const demand = { demand: [{ name: 'Peak', pricePerKw: 9 }] };

  test('is never exceeded, where demand is charged for too', () => {
    const home = homeOf(demand, 84, PRICES, 0);
    for (const most of [undefined, 0, 1]) {
      const { lights, windowsFailed } = searched(home, { hoursOf, ...(most === undefined ? {} : { most }) }).found;
      expect(windowsFailed).toBe(false);
      expect(lights!.givenUp).toBeLessThanOrEqual(lights!.most + 1e-6);
      if (most !== undefined) expect(lights!.most).toBe(most);
    }
  });

  test('is at least a thousandth of the bill without its fixed charges', () => {
    // So little load that 2 % of what is saved are less.
    const home = homeOf({ fixed: [{ name: 'Service', amount: 5, per: 'day' }] }, 56, PRICES, 0);
    const { lights } = searched(home, { hoursOf }).found;
    const without = evaluate(home, none, ['bill']).bill.unrounded - 5 * 56;
    const cheapest = searched(home).bill - 5 * 56;
    expect(lights!.most).toBeCloseTo(Math.max(0.02 * (without - cheapest), 0.001 * without), 6);
  });

  test.each<[string, (charge: number) => Record<string, unknown>]>([
    ['prices alone', () => ({})],
    ['demand', () => demand],
    ['netting', () => ({ export: { kind: 'net-metering', within: 'window', carry: 'kwh', surplusPerKwh: 0.05 } })],
    // A minimum that rises with the charge leaves as much to save.
    ['a minimum', (charge) => ({ minimumBill: { amount: 20 + charge, per: 'month' } })],
  ])('no fixed charge changes a sheet or what it saves: %s', (_, fields) => {
    const at = (amount: number) => {
      const home = homeOf({ ...fields(amount), fixed: [{ name: 'Service', amount, per: 'month' }] });
      const { found, apart } = searched(home, { hoursOf });
      return { found, saved: evaluate(home, none, ['bill']).bill.unrounded - apart };
    };
    const [plain, charged] = [at(0), at(300)];
    expect(charged.found.all).toEqual(plain.found.all);
    expect(charged.found.odd).toEqual(plain.found.odd);
    expect(charged.found.even).toEqual(plain.found.even);
    expect(charged.saved).toBeCloseTo(plain.saved, 6);
  });

  test('counts what a fuller battery ages more from the start: a sheet that ages less is not passed over', () => {
    const home = homeOf({}, 56, PRICES, 0);
    const wearOfFull = 150;
    const worn = (flows: { socKwh: Float64Array }) =>
      (wearOfFull * flows.socKwh.reduce((sum, kwh) => sum + kwh, 0)) / flows.socKwh.length / 10;
    const { found, bill, flows } = searched(home, { hoursOf, most: 0, wearOfFull });
    for (const fromMinute of [23 * 60, 120, 240])
      for (const chargeToPercent of [40, 60, 80, 100]) {
        const schedules = [
          { ...found.all.schedules[0]!, charge: { fromMinute, toMinute: 360 }, chargeToPercent, discharge: null },
        ];
        const other = evaluate(home, followSheet({ ...found.all, schedules }), ['bill', 'flows']);
        // A window must earn 1/2000 of the bill to be entered; every fifth interval stands for five.
        expect(bill + worn(flows)).toBeLessThanOrEqual(other.bill.unrounded + worn(other.flows) + 0.2);
      }
  });
});

describe('judging apart', () => {
  test('takes whole billing periods where a bill has terms over them, and weeks else', () => {
    expect(searched(homeOf({ demand: [{ name: 'Peak', pricePerKw: 9 }] })).found.apart).toBe('billing-periods');
    expect(searched(homeOf({})).found.apart).toBe('weeks');
    // Three weeks of one month hold no second period.
    expect(searched(homeOf({ demand: [{ name: 'Peak', pricePerKw: 9 }] }, 21)).found.apart).toBe('weeks');
    // A credit that carries on leaves no period on its own.
    const carried = { kind: 'net-metering', carry: 'kwh', trueUpMonth: 6, surplusPerKwh: 0.03 };
    expect(searched(homeOf({ export: carried })).found.apart).toBe('weeks');
  });

  test.each([
    ['demand charges', { demand: [{ name: 'Peak', pricePerKw: 9 }] }],
    ['a minimum', { minimumBill: { amount: 60 } }],
    [
      'classes of power',
      {
        demand: [
          {
            name: 'Class',
            highestDays: 3,
            averagingMinutes: 60,
            steps: [{ upToKw: 2, amount: 10 }, { upToKw: 5, amount: 40 }, { amount: 70 }],
          },
        ],
      },
    ],
  ])('with %s no sheet is beaten by no windows at all', (_, fields) => {
    for (const days of [21, 47]) {
      const home = homeOf(fields, days);
      const { apart, found } = searched(home);
      expect(apart).toBeLessThanOrEqual(withoutWindows(home) + 1e-6);
      if (found.windowsFailed)
        for (const { charge, discharge } of found.all.schedules) expect([charge, discharge]).toEqual([null, null]);
    }
  });
});
