import { type Axis, intervalAt, makeAxis } from '@duskbank/core/axis';
import { type Home, hold, none, peakShave, runStrategy, selfConsumption, windowFill } from '@duskbank/core/dispatch';
import { InputError } from '@duskbank/core/input';
import { backupHours } from '@duskbank/core/outage';
import type { Plant } from '@duskbank/core/plant';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import { openService, plainPlant } from '../../support/homes.ts';

const ZONE = 'America/Denver';

/** A home of plain days: `load(hour)` and `solar(hour)` in kW, hourly, from local midnight on a date. */
function plainHome(options: {
  from: string;
  days: number;
  load: (hour: number, day: number) => number;
  solar?: (hour: number, day: number) => number;
  tariff: object;
  plant?: Partial<Plant>;
}): Home {
  const first = makeAxis({
    startEpochMs: Date.parse(`${options.from}T12:00:00Z`),
    stepMinutes: 60,
    intervals: 1,
    zone: ZONE,
  });
  const localHour = first.calendar.minuteOfDay[0]! / 60;
  const axis = makeAxis({
    startEpochMs: Date.parse(`${options.from}T12:00:00Z`) - localHour * 3_600_000,
    stepMinutes: 60,
    intervals: options.days * 24,
    zone: ZONE,
  });
  const { minuteOfDay, day } = axis.calendar;
  const series = (kw: (hour: number, day: number) => number) =>
    Float64Array.from({ length: axis.intervals }, (_, i) => kw(minuteOfDay[i]! / 60, day[i]!));
  return {
    axis,
    loadKwh: series(options.load),
    solarKwh: series(options.solar ?? (() => 0)),
    tariff: compileTariff(
      parseTariff({ format: 'duskbank.tariff/1', name: 'Plain', currency: 'USD', ...options.tariff }),
      axis,
    ),
    plant: plainPlant({ capacityKwh: 6, chargeLimitKw: 3, dischargeLimitKw: 6, ...options.plant }),
    service: openService,
  };
}

/** The interval at a local hour of a day of the axis. */
function at(axis: Axis, dayIndex: number, hour: number): number {
  const { firstInterval, intervals } = axis.calendar.days[dayIndex]!;
  for (let i = firstInterval; i < firstInterval + intervals; i++)
    if (axis.calendar.minuteOfDay[i] === hour * 60) return i;
  throw new Error(`no ${hour}:00 on day ${dayIndex}`);
}

const sum = (values: Float64Array, from: number, to: number) =>
  values.subarray(from, to).reduce((total, kwh) => total + kwh, 0);

const windows = [
  { name: 'on-peak', days: 'weekday', from: '16:00', to: '20:00', pricePerKwh: 0.5 },
  { name: 'night', from: '00:00', to: '06:00', pricePerKwh: 0.1 },
  { name: 'day', otherwise: true, pricePerKwh: 0.2 },
];
const poorExport = { kind: 'net-billing', pricePerKwh: 0.02 };

describe('window', () => {
  test('fills before each on-peak window and carries it, on working days only', () => {
    // Monday 12 January 2026 on; load 1 kW.
    const home = plainHome({ from: '2026-01-12', days: 7, load: () => 1, tariff: { windows, export: poorExport } });
    const { flows } = runStrategy(windowFill, home);
    for (let day = 0; day < 5; day++) {
      expect(flows.socKwh[at(home.axis, day, 15)]).toBeCloseTo(6, 9);
      expect(sum(flows.importKwh, at(home.axis, day, 16), at(home.axis, day, 20))).toBeCloseTo(0, 9);
    }
    // Saturday has no window before Monday's that is not on the axis: nothing is bought.
    expect(sum(flows.chargeKwh, at(home.axis, 5, 0), home.axis.intervals)).toBe(0);
  });

  test('a holiday is no peak: nothing is bought for it', () => {
    // Thursday 1 January 2026 is a holiday in the list; Wednesday and Friday are not.
    const home = plainHome({
      from: '2025-12-31',
      days: 3,
      load: () => 1,
      tariff: {
        holidays: ['us-six'],
        windows: [
          { ...windows[0], days: 'weekday' },
          { name: 'night', from: '00:00', to: '06:00', pricePerKwh: 0.1 },
          { name: 'day', otherwise: true, pricePerKwh: 0.2 },
        ],
        export: poorExport,
      },
    });
    const { flows } = runStrategy(windowFill, home);
    expect(sum(flows.chargeKwh, at(home.axis, 0, 0), at(home.axis, 0, 16))).toBeGreaterThan(6);
    expect(sum(flows.chargeKwh, at(home.axis, 1, 0), at(home.axis, 2, 0))).toBe(0);
    expect(sum(flows.chargeKwh, at(home.axis, 2, 0), at(home.axis, 2, 16))).toBeGreaterThan(6);
  });

  test('a season without a peak is no reason to buy', () => {
    const home = plainHome({
      from: '2026-05-25',
      days: 12,
      load: () => 1,
      tariff: {
        seasons: [
          { name: 'summer', months: [6, 7, 8, 9] },
          { name: 'winter', months: [10, 11, 12, 1, 2, 3, 4, 5] },
        ],
        windows: [
          { name: 'on-peak', seasons: 'summer', from: '16:00', to: '20:00', pricePerKwh: 0.5 },
          { name: 'day', seasons: 'summer', otherwise: true, pricePerKwh: 0.15 },
          { name: 'flat', seasons: 'winter', otherwise: true, pricePerKwh: 0.17 },
        ],
        export: poorExport,
      },
    });
    const { flows } = runStrategy(windowFill, home);
    const lastOfMay = home.axis.calendar.days.findIndex((day) => day.month === 6) - 1;
    expect(sum(flows.chargeKwh, 0, at(home.axis, lastOfMay, 0))).toBe(0);
    for (let day = lastOfMay + 1; day < 12; day++) expect(flows.socKwh[at(home.axis, day, 15)]).toBeCloseTo(6, 9);
  });

  const sunny = (sale: number) =>
    plainHome({
      from: '2026-01-12',
      days: 12,
      load: () => 0.5,
      solar: (hour) => (hour >= 10 && hour < 14 ? 1.5 : 0),
      tariff: {
        windows: windows.map(({ days: _days, ...window }) => window),
        export: { kind: 'net-billing', pricePerKwh: sale },
      },
    });

  test('leaves room for the sun it has come to know, where own surplus is the cheaper energy', () => {
    // 4 kWh of surplus a day at 0.02 against night energy at 0.10: once it knows, it buys less at night than fits.
    const home = sunny(0.02);
    const { flows } = runStrategy(windowFill, home);
    expect(flows.socKwh[at(home.axis, 0, 5)]).toBeCloseTo(6, 9);
    expect(flows.socKwh[at(home.axis, 11, 5)]).toBeLessThan(5.5);
    // The window takes 2 kWh; twice that is kept for it.
    expect(flows.socKwh[at(home.axis, 11, 15)]).toBeGreaterThan(4);
    expect(sum(flows.exportKwh, at(home.axis, 11, 0), home.axis.intervals)).toBeLessThan(
      sum(flows.exportKwh, at(home.axis, 0, 0), at(home.axis, 1, 0)),
    );
  });

  test('leaves none where the surplus sells for more than the night costs', () => {
    const home = sunny(0.12);
    const { flows } = runStrategy(windowFill, home);
    expect(flows.socKwh[at(home.axis, 11, 5)]).toBeCloseTo(6, 9);
    expect(sum(flows.exportKwh, at(home.axis, 11, 10), at(home.axis, 11, 14))).toBeGreaterThan(
      2 * sum(runStrategy(windowFill, sunny(0.02)).flows.exportKwh, at(home.axis, 11, 10), at(home.axis, 11, 14)),
    );
  });

  test('does not buy where grid charging is off, and keeps the sun for the peak', () => {
    const home = sunny(0.02);
    const { flows } = runStrategy(windowFill, { ...home, plant: { ...home.plant, gridCharging: false } });
    for (let i = 0; i < home.axis.intervals; i++)
      expect(flows.chargeKwh[i]!).toBeLessThanOrEqual(Math.max(0, home.solarKwh[i]! - home.loadKwh[i]!) + 1e-9);
    expect(sum(flows.importKwh, at(home.axis, 5, 16), at(home.axis, 5, 20))).toBeCloseTo(0, 9);
  });

  test('is full before the peak on the days of both clock changes', () => {
    for (const from of ['2026-03-06', '2026-10-30']) {
      const home = plainHome({
        from,
        days: 5,
        load: () => 1,
        tariff: { windows: windows.map(({ days: _days, ...window }) => window), export: poorExport },
      });
      const { flows } = runStrategy(windowFill, home);
      for (let day = 0; day < 4; day++) expect(flows.socKwh[at(home.axis, day, 15)]).toBeCloseTo(6, 9);
    }
  });

  test('a peak across midnight is one window', () => {
    const home = plainHome({
      from: '2026-01-12',
      days: 4,
      load: () => 1,
      tariff: {
        windows: [
          { name: 'on-peak', from: '22:00', to: '02:00', pricePerKwh: 0.5 },
          { name: 'day', otherwise: true, pricePerKwh: 0.1 },
        ],
        export: poorExport,
      },
    });
    const { flows } = runStrategy(windowFill, home);
    for (let day = 0; day < 3; day++)
      expect(sum(flows.importKwh, at(home.axis, day, 22), at(home.axis, day + 1, 2))).toBeCloseTo(0, 9);
  });

  test('sells what the peak load leaves over, where the sale pays for buying it back', () => {
    const options = {
      from: '2026-01-12',
      days: 10,
      load: () => 0.25,
      tariff: {
        windows: windows.map(({ days: _days, ...window }) => window),
        export: { kind: 'net-billing', byWindow: { 'on-peak': 0.45, night: 0.02, day: 0.02 } },
      },
    };
    const home = plainHome({ ...options, plant: { batteryExport: true } });
    const { flows } = runStrategy(windowFill, home);
    const from = at(home.axis, 9, 16);
    expect(sum(flows.exportKwh, from, from + 4)).toBeGreaterThan(3);
    expect(sum(flows.importKwh, from, from + 4)).toBeCloseTo(0, 9);
    const shut = runStrategy(windowFill, plainHome({ ...options, plant: { batteryExport: false } }));
    expect(shut.flows.exportKwh.every((kwh) => kwh === 0)).toBe(true);
  });

  test('under one price all day it is self-consumption', () => {
    const home = plainHome({
      from: '2026-01-12',
      days: 6,
      load: () => 0.5,
      solar: (hour) => (hour >= 9 && hour < 15 ? 2 : 0),
      tariff: { windows: [{ name: 'flat', otherwise: true, pricePerKwh: 0.3 }], export: poorExport },
    });
    expect(runStrategy(windowFill, home).flows).toEqual(runStrategy(selfConsumption, home).flows);
  });
});

describe('peak-shave', () => {
  // 1 kW and two hours of 5 kW a day; 4 kWh, lossless: (5 − T) × 2 = 4, so 3 kW is the lowest that can be held.
  const spiky = (demand: object) =>
    plainHome({
      from: '2026-01-01',
      days: 90,
      load: (hour) => (hour === 18 || hour === 19 ? 5 : 1),
      tariff: {
        windows: [{ name: 'flat', otherwise: true, pricePerKwh: 0.1 }],
        demand: [{ name: 'Demand', pricePerKw: 10, averagingMinutes: 60, ...demand }],
        export: poorExport,
      },
      plant: { capacityKwh: 4, chargeLimitKw: 2, chargeEfficiency: 1, dischargeEfficiency: 1 },
    });
  const peakOf = (home: Home, values: Float64Array, month: number) => {
    let peak = 0;
    for (let i = 0; i < values.length; i++)
      if (home.axis.calendar.month[i] === month) peak = Math.max(peak, values[i]!);
    return peak;
  };

  test('learns in the first billing period what it holds from the second on', () => {
    const home = spiky({});
    const { flows } = runStrategy(peakShave(), home);
    expect(peakOf(home, flows.importKwh, 1)).toBeGreaterThan(4);
    expect(peakOf(home, flows.importKwh, 2)).toBeGreaterThan(3 - 1e-9);
    // Twelve halvings of the battery's 6 kW.
    expect(peakOf(home, flows.importKwh, 2)).toBeLessThan(3 + 6 / 4096);
    expect(peakOf(home, flows.importKwh, 3)).toBeLessThan(3 + 6 / 4096);
  });

  test('learns no target that the plant can’t hold: it reaches a quarter of the load only', () => {
    // 4 kWh, lossless, would hold 2.6 kW: 3 h × 0.4 + 2 h × 1.4. A quarter of 4 kW is all that it can offset, so 3 kW is
    // the lowest to be had, and what lies under it isn't worth any energy.
    const home = plainHome({
      from: '2026-01-01',
      days: 60,
      load: (hour) => (hour >= 16 && hour < 19 ? 3 : hour === 19 || hour === 20 ? 4 : 1),
      tariff: {
        windows: [{ name: 'flat', otherwise: true, pricePerKwh: 0.1 }],
        demand: [{ name: 'Demand', pricePerKw: 10, averagingMinutes: 60 }],
        export: poorExport,
      },
      plant: { capacityKwh: 4, chargeLimitKw: 2, chargeEfficiency: 1, dischargeEfficiency: 1, reach: 0.25 },
    });
    const { flows } = runStrategy(peakShave(), home);
    const february = at(home.axis, 31, 16);
    // Twelve halvings of the battery's 6 kW.
    expect(Math.abs(flows.importKwh[february]! - 3)).toBeLessThan(6 / 4096);
    expect(flows.importKwh[february + 3]).toBeCloseTo(3, 9);
  });

  test('a given target is held from the first day', () => {
    const home = spiky({});
    const { flows } = runStrategy(peakShave({ targetKw: 3.2 }), home);
    expect(Math.max(...flows.importKwh.subarray(24))).toBeCloseTo(3.2, 9);
  });

  test('within a period the target rises to the peak that is paid for already', () => {
    // One worse day in February: the battery must not waste itself on holding less than that afterwards.
    const home = spiky({});
    const worse = home.loadKwh.slice();
    const storm = at(home.axis, 40, 18);
    worse[storm] = 12;
    const { flows } = runStrategy(peakShave(), { ...home, loadKwh: worse });
    const reached = flows.importKwh[storm]!;
    expect(reached).toBeGreaterThan(5);
    const next = at(home.axis, 41, 18);
    expect([flows.dischargeKwh[next], flows.dischargeKwh[next + 1]]).toEqual([0, 0]);
  });

  test('only intervals that bear the charge are held', () => {
    const home = spiky({ days: 'weekend' });
    const { flows } = runStrategy(peakShave({ targetKw: 3 }), home);
    for (let i = 24; i < home.axis.intervals; i++) {
      if (home.axis.calendar.weekday[i]! >= 6) expect(flows.importKwh[i]!).toBeLessThan(3 + 1e-9);
      else expect(flows.dischargeKwh[i]).toBe(0);
    }
  });

  test('refuses a target below nothing', () => {
    expect(() => peakShave({ targetKw: -1 })).toThrow(InputError);
    expect(() => peakShave({ targetKw: Number.NaN })).toThrow(InputError);
  });
});

// Common practice, no source.
test('more stored energy carries the home further into the peak window, and longer through an outage', () => {
  const carried = (capacityKwh: number) => {
    const home = plainHome({
      from: '2026-01-12',
      days: 3,
      load: () => 2,
      tariff: { windows: windows.map(({ days: _days, ...window }) => window), export: poorExport },
      plant: { capacityKwh, chargeEfficiency: 1, dischargeEfficiency: 1 },
    });
    const { socKwh, importKwh } = runStrategy(windowFill, home).flows;
    const peak = at(home.axis, 1, 16);
    const hours = backupHours({
      axis: home.axis,
      plant: home.plant,
      socKwh,
      loadKwh: home.loadKwh,
      solarKwh: home.solarKwh,
    });
    return { peakKwh: sum(importKwh, peak, peak + 4), hours: hours[peak]! };
  };
  // 8 kWh of load in the window; 3.8 kWh leave 4.2 to buy and last 1.9 h at 2 kW, 7.6 kWh leave 0.4 and last 3.8 h.
  const one = carried(3.8);
  const two = carried(7.6);
  expect(one.peakKwh).toBeCloseTo(4.2, 9);
  expect(two.peakKwh).toBeCloseTo(0.4, 9);
  expect(one.hours).toBeCloseTo(1.9, 9);
  expect(two.hours).toBeCloseTo(3.8, 9);
});

// Common practice, no source.
test('1,000 W for one hour is 1 kWh, on the meter and from the battery', () => {
  const home = plainHome({
    from: '2026-01-12',
    days: 1,
    load: () => 1000 / 1000,
    tariff: { windows: [{ name: 'flat', otherwise: true, pricePerKwh: 0.25 }], export: poorExport },
    plant: { startKwh: 6, chargeEfficiency: 1, dischargeEfficiency: 1 },
  });
  const { flows } = runStrategy(selfConsumption, home);
  expect(flows.socKwh[0]).toBeCloseTo(5, 12);
  expect(flows.importKwh[23]).toBe(1);
});

test('hold keeps the battery full from the second interval to the last', () => {
  const home = plainHome({ from: '2026-01-12', days: 3, load: () => 1, tariff: { windows, export: poorExport } });
  const { flows } = runStrategy(hold, home);
  for (let i = 2; i < home.axis.intervals; i++) expect(flows.socKwh[i]).toBeCloseTo(6, 9);
  expect(flows.dischargeKwh.every((kwh) => kwh === 0)).toBe(true);
  expect(intervalAt(home.axis, home.axis.startEpochMs)).toBe(0);
});

test('none has no battery at all', () => {
  const home = plainHome({ from: '2026-01-12', days: 2, load: () => 1, tariff: { windows, export: poorExport } });
  const { flows } = runStrategy(none, home);
  expect([...flows.importKwh]).toEqual([...home.loadKwh]);
});
