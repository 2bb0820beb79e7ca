import { InputError } from '@duskbank/core/input';
import { rechargeHours, sliceBackup, survivalCurve, unservedAt, worstStarts } from '@duskbank/core/outage';
import { describe, expect, test } from 'vitest';
import { axisOf, plantOf, series } from './island-home.ts';

describe('survival', () => {
  test('the chance to last falls with the hours, and can be asked for some starts', () => {
    const hours = Float64Array.of(0.5, 2, 6, 30);
    expect(survivalCurve(hours, [1, 2, 24, 48]).probability).toEqual([0.75, 0.75, 0.25, 0]);
    expect(survivalCurve(hours, [1], (i) => i > 0)).toEqual({ hours: [1], probability: [1], starts: 3 });
  });

  test('there is no share of no starts', () => {
    const codeOf = (run: () => unknown) => {
      try {
        run();
      } catch (error) {
        return error instanceof InputError ? error.issues[0]!.code : error;
      }
      return undefined;
    };
    expect(codeOf(() => survivalCurve(new Float64Array(0), [1]))).toBe('no-starts');
    expect(codeOf(() => survivalCurve(Float64Array.of(3, 4), [1], () => false))).toBe('no-starts');
  });

  test('by month, hour and weekday, on the local clock', () => {
    const axis = axisOf(24 * 14);
    const slices = sliceBackup(
      axis,
      series(axis.intervals, (i) => (i % 24) + 1),
    );
    expect(slices.byMonth.map((slice) => slice.key)).toEqual([1]);
    expect(slices.byHour[5]).toMatchObject({ key: 5, starts: 14, least: 6, median: 6 });
    expect(slices.byWeekday.map((slice) => slice.key)).toEqual([1, 2, 3, 4, 5, 6, 7]);
    expect(slices.eveningsByMonth[0]).toMatchObject({ starts: 10 * 4, least: 18, median: 19.5 });
  });

  test('the worst starts are told one a day, with their intervals', () => {
    const axis = axisOf(72);
    const starts = worstStarts(
      axis,
      series(72, (i) => (i === 5 ? 1 : i === 6 ? 0.5 : i === 50 ? 2 : 9)),
      2,
    );
    expect(starts).toEqual([
      { interval: 6, hours: 0.5 },
      { interval: 50, hours: 2 },
    ]);
  });

  test('unserved energy: all load from the moment that the battery gives out to the end, over the year’s end too', () => {
    const axis = axisOf(4);
    const [one, three] = unservedAt(axis, Float64Array.of(2, 1.5, 4, 0), Float64Array.of(1, 2, 3, 4), [1, 3]);
    // One hour: only the start at 3 misses 4 kWh. Three hours: start 0 misses 3; start 1 (2, 3, 4) lasts 1.5 and misses
    // half of 3, and 4; start 2 nothing; start 3 all of 4 + 1 + 2.
    expect(one).toMatchObject({ meanKwh: 1, worstKwh: 4, carriedShare: 0.75 });
    expect(three!.meanKwh).toBeCloseTo((3 + 5.5 + 0 + 7) / 4, 12);
    expect(three!.worstKwh).toBe(7);
    expect(three!.carriedShare).toBe(0.25);
    expect(three!.unservedShare).toBeCloseTo(15.5 / (6 + 9 + 8 + 7), 12);
  });

  test('a 15 A, 120 V cord charges at 1.44 kW, so 7.6 kWh take over five hours (common practice, no source)', () => {
    const axis = axisOf(24);
    const options = {
      axis,
      plant: plantOf({ capacityKwh: 7.6, chargeLimitKw: 15 * 120 * 0.8e-3 }),
      service: { importLimitKw: 20, exportLimitKw: 20 },
      loadKwh: series(24, 0.5),
      solarKwh: series(24, 0),
      from: 0,
      fromKwh: 0,
    };
    expect(rechargeHours(options)).toBeCloseTo(7.6 / 1.44, 9);
    // A service of 1.5 kW leaves 1 kW; without grid charging nothing refills it.
    expect(rechargeHours({ ...options, service: { importLimitKw: 1.5, exportLimitKw: 0 } })).toBeCloseTo(7.6, 9);
    expect(rechargeHours({ ...options, plant: { ...options.plant, gridCharging: false } })).toBe(336);
    expect(rechargeHours({ ...options, fromKwh: 7.6 })).toBe(0);
  });

  test('filling is counted up to 336 h, in data that are longer too', () => {
    const axis = axisOf(600);
    const filledBy = (kw: number) =>
      rechargeHours({
        axis,
        plant: plantOf({ capacityKwh: 10, chargeLimitKw: kw, chargeEfficiency: 1, solarChargeEfficiency: 1 }),
        service: { importLimitKw: 20, exportLimitKw: 20 },
        loadKwh: series(600, 0.5),
        solarKwh: series(600, 0),
        from: 0,
        fromKwh: 0,
      });
    expect(filledBy(0.04)).toBeCloseTo(250, 9);
    // 400 hours.
    expect(filledBy(0.025)).toBe(336);
  });

  test('a surplus doesn’t lift the import limit while the store fills', () => {
    const axis = axisOf(24);
    const hoursWithSun = (solarKw: number) =>
      rechargeHours({
        axis,
        plant: plantOf({ capacityKwh: 10, chargeLimitKw: 5, chargeEfficiency: 1 }),
        service: { importLimitKw: 1, exportLimitKw: 1 },
        loadKwh: series(24, 0.5),
        solarKwh: series(24, solarKw),
        from: 0,
        fromKwh: 0,
      });
    // The sun carries the load, so all of the service's 1 kW is left for 10 kWh.
    expect(hoursWithSun(0.5)).toBeCloseTo(10, 9);
    // 0.01 kW of surplus beside the same 1 kW; before, 5 kW were bought through it and 2 h were said to do.
    expect(hoursWithSun(0.51)).toBeCloseTo(10 / 1.01, 9);
  });
});
