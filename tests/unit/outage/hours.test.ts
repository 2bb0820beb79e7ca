import type { InputError } from '@duskbank/core/input';
import { backupHours } from '@duskbank/core/outage';
import { describe, expect, test } from 'vitest';
import { axisOf, plantOf, series } from './island-home.ts';

const DAY = 24;

describe('hours of backup, worked by hand', () => {
  test('a constant load lasts (soc − shutdown)·ηd ÷ (load + standby), the failing step counted in part', () => {
    // (8 − 1) · 0.9 ÷ (0.6 + 0.1) = 6.3 ÷ 0.7 = 9 h exactly; with 7.9 kWh 8.871428… h
    const axis = axisOf(10 * DAY);
    const plant = plantOf({ shutdownKwh: 1, dischargeEfficiency: 0.9, standbyW: 100 });
    const flat = (soc: number) =>
      backupHours({
        axis,
        plant,
        socKwh: series(axis.intervals, soc),
        startKwh: soc,
        loadKwh: series(axis.intervals, 0.6),
        solarKwh: series(axis.intervals, 0),
      });
    expect(flat(8)[0]).toBeCloseTo(9, 12);
    expect(flat(8)[200]).toBeCloseTo(9, 12);
    expect(flat(7.9)[0]).toBeCloseTo(((7.9 - 1) * 0.9) / 0.7, 12);
  });

  test('1,000 W for one hour is 1 kWh; 7.6 kWh at 12 kW are 38 minutes (common practice, no source)', () => {
    const axis = axisOf(96, 15);
    const run = (capacityKwh: number, limitKw: number, loadKw: number) =>
      backupHours({
        axis,
        plant: plantOf({ capacityKwh, dischargeLimitKw: limitKw, inverterKw: limitKw }),
        socKwh: series(96, capacityKwh),
        startKwh: capacityKwh,
        loadKwh: series(96, loadKw / 4),
        solarKwh: series(96, 0),
      })[0]!;
    expect(run(1, 5, 1)).toBeCloseTo(1, 12);
    expect(run(7.6, 12, 12) * 60).toBeCloseTo(38, 9);
  });

  test('a load over the inverter limit gives 0 h, even with sun enough', () => {
    const axis = axisOf(DAY);
    const hours = backupHours({
      axis,
      plant: plantOf(),
      socKwh: series(DAY, 10),
      startKwh: 10,
      loadKwh: series(DAY, (i) => (i === 12 ? 5.001 : 0.1)),
      solarKwh: series(DAY, 6),
    });
    expect(hours[12]).toBe(0);
    expect(hours[0]).toBe(12);
    expect(hours[13]).toBe(23);
  });

  test('the floor is released: a strategy that kept 4 kWh leaves 4 h at 1 kW, not none', () => {
    const axis = axisOf(DAY);
    const at = (shutdownKwh: number) =>
      backupHours({
        axis,
        plant: plantOf({ floorKwh: 4, shutdownKwh }),
        socKwh: series(DAY, 4),
        startKwh: 4,
        loadKwh: series(DAY, 1),
        solarKwh: series(DAY, 0),
      })[0];
    expect(at(0)).toBe(4);
    // Were the floor kept as a shutdown level, nothing would be left.
    expect(at(4)).toBe(0);
  });

  test('below the shutdown level the equipment is off: 0 h, whatever the sun gives', () => {
    const hours = backupHours({
      axis: axisOf(2),
      plant: plantOf({ shutdownKwh: 1 }),
      socKwh: Float64Array.of(1, 0.5),
      startKwh: 0.9,
      loadKwh: series(2, 1),
      solarKwh: series(2, 2),
    });
    expect([...hours]).toEqual([0, 2]);
  });

  test('an outage at i uses the energy at the start of i: the end of i − 1, the start of the run for the first', () => {
    const axis = axisOf(3);
    const hours = backupHours({
      axis,
      plant: plantOf({ capacityKwh: 2 }),
      socKwh: Float64Array.of(2, 0.5, 1),
      startKwh: 0.25,
      loadKwh: series(3, 1),
      solarKwh: series(3, 0),
    });
    expect([...hours]).toEqual([0.25, 2, 0.5]);
  });

  test('sun refills in July and not in January; survival is capped and the cap is exact', () => {
    const axis = axisOf(60 * DAY);
    const sun = (kw: number) => (i: number) => (i % DAY >= 8 && i % DAY < 16 ? kw : 0);
    const run = (kw: number, capHours?: number) =>
      backupHours({
        axis,
        plant: plantOf(),
        socKwh: series(axis.intervals, 10),
        startKwh: 10,
        loadKwh: series(axis.intervals, 0.5),
        solarKwh: series(axis.intervals, sun(kw)),
        capHours,
      })[0];
    // A day takes 12 kWh; July gives 8 · 4 = 32, January 8 · 0.5 = 4 (0 net in the sun hours, 0.5 kW for 16 h).
    expect(run(4)).toBe(336);
    expect(run(4, 1e9)).toBe(60 * DAY);
    // January: 8 h take 4 kWh, then 8 h stand still, then 6 kWh last 12 h more: 8 + 8 + 12 = 28 h.
    expect(run(0.5)).toBe(28);
  });

  test('solar past the inverter is stored at its own efficiency (DC-coupled), charging is limited', () => {
    const axis = axisOf(4);
    const run = (coupling: 'ac' | 'dc', chargeLimitKw = 5) =>
      backupHours({
        axis,
        plant: plantOf({ chargeEfficiency: 0.5, solarChargeEfficiency: 0.8, coupling, chargeLimitKw }),
        socKwh: series(4, 1),
        startKwh: 0,
        loadKwh: Float64Array.of(0, 1, 1, 1),
        solarKwh: Float64Array.of(2, 0, 0, 0),
        capHours: 4,
      })[0];
    expect(run('ac')).toBe(2); // 2 · 0.5 = 1 kWh
    expect(run('dc')).toBeCloseTo(2.6, 12); // 2 · 0.8 = 1.6 kWh
    expect(run('ac', 1)).toBe(1.5);
  });

  test('decay is taken on all energy above the shutdown level', () => {
    const axis = axisOf(4);
    const hours = backupHours({
      axis,
      plant: plantOf({ decayPerHour: 0.1, shutdownKwh: 1 }),
      socKwh: series(4, 3),
      startKwh: 3,
      loadKwh: series(4, 1),
      solarKwh: series(4, 0),
    });
    // 2 · 0.9 = 1.8 − 1 = 0.8; 0.8 · 0.9 = 0.72 of 1
    expect(hours[0]).toBeCloseTo(1.72, 12);
  });

  test('a margin takes its share of stored energy and of what fits', () => {
    const axis = axisOf(6);
    const hours = (gaugeErrorKwh: number) =>
      backupHours({
        axis,
        plant: plantOf(),
        socKwh: series(6, 4),
        startKwh: 4,
        loadKwh: series(6, 1),
        solarKwh: series(6, 0),
        energyShare: 0.8,
        gaugeErrorKwh,
      })[0];
    expect(hours(0)).toBeCloseTo(3.2, 12);
    expect(hours(0.5)).toBeCloseTo(2.7, 12);
    expect(hours(5)).toBe(0);
  });

  test('the shutdown level doesn’t shrink with what age leaves: 80 % of 4 kWh, less 1 kWh', () => {
    const axis = axisOf(6);
    const options = { axis, plant: plantOf({ shutdownKwh: 1 }), socKwh: series(6, 4), startKwh: 4 };
    const lasts = (socKwh: number) =>
      backupHours({
        ...options,
        socKwh: series(6, socKwh),
        startKwh: socKwh,
        loadKwh: series(6, 1),
        solarKwh: series(6, 0),
        energyShare: 0.8,
      })[0];
    // Not (4 − 1) × 0.8 = 2.4.
    expect(lasts(4)).toBeCloseTo(2.2, 12);
    expect(lasts(1.2)).toBe(0);
  });

  test('series of another length and shares out of range are refused by name', () => {
    const axis = axisOf(4);
    const good = { axis, plant: plantOf(), socKwh: series(4, 1), loadKwh: series(4, 1), solarKwh: series(4, 0) };
    const codes = (bad: object) => {
      try {
        backupHours({ ...good, ...bad });
      } catch (error) {
        return (error as InputError).issues.map((issue) => [issue.code, issue.where.path?.[0]]);
      }
      return [];
    };
    expect(codes({ loadKwh: series(5, 1), solarKwh: series(3, 0) })).toEqual([
      ['length-mismatch', 'loadKwh'],
      ['length-mismatch', 'solarKwh'],
    ]);
    expect(codes({ energyShare: 0 })).toEqual([['out-of-range', 'energyShare']]);
    expect(codes({ capHours: Number.NaN })).toEqual([['not-finite', 'capHours']]);
    expect(codes({ axis: { ...axis, stepHours: 0.5 } })).toEqual([['contradiction', 'axis']]);
    expect(codes({ axis: { ...axis, intervals: 1.5 } })).toEqual([['out-of-range', 'axis']]);
  });
});
