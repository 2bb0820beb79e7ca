import { makeAxis } from '@duskbank/core/axis';
import { InputError } from '@duskbank/core/input';
import {
  backupHours,
  isWeekdayEvening,
  reserveBySituation,
  reserveKwh,
  simulateOutage,
  summarizeBackup,
  summarizeReserve,
  worstStarts,
} from '@duskbank/core/outage';
import { describe, expect, test } from 'vitest';
import { worstMonth } from '../../../packages/core/src/outage/inside.ts';
import { axisOf, plantOf, series } from './island-home.ts';

describe('summaries', () => {
  test('weekday evenings are Monday to Friday, 17:00 to 21:00 on the local clock', () => {
    // 2026-01-05 is a Monday; Kolkata is 5 h 30 min ahead of UTC.
    const axis = makeAxis({
      startEpochMs: Date.UTC(2026, 0, 5),
      stepMinutes: 30,
      intervals: 336,
      zone: 'Asia/Kolkata',
    });
    const evenings = [...Array(336).keys()].filter((i) => isWeekdayEvening(axis, i));
    expect(evenings.length).toBe(5 * 8);
    expect(evenings[0]).toBe((17 - 5.5) * 2);
  });

  test('percentiles interpolate between neighbours; evenings stand beside all hours; the worst start is named', () => {
    const axis = axisOf(24 * 7);
    // 20 h at all hours but evenings, when 1 … 20 h are left in order.
    let evening = 0;
    const hours = series(axis.intervals, (i) => (isWeekdayEvening(axis, i) ? ++evening : 30));
    const summary = summarizeBackup(axis, hours);
    expect(evening).toBe(20);
    expect(summary.allHours.median).toBe(30);
    // Ranks 0 … 19: 0.1 · 19 = 1.9 → 2 + 0.9; 0.5 · 19 = 9.5 → 10.5
    expect(summary.weekdayEvenings.p10).toBeCloseTo(2.9, 12);
    expect(summary.weekdayEvenings.median).toBe(10.5);
    expect(summary.worst).toEqual({ hours: 1, interval: 17 });
    expect(summary.censoredShare).toBe(0);
  });

  test('of outages that last the same but for the last digits of a sum the first is the worst', () => {
    // 60 days from 5 January, of which the first six count as settling in: the shortest starts of the rest lie at noon of three days.
    const axis = axisOf(24 * 60);
    const noons = [10, 20, 31].map((day) => 24 * day + 12);
    const hours = (noise: readonly number[]) =>
      series(axis.intervals, (i) => (noons.includes(i) ? 2 + 1e-13 * noise[noons.indexOf(i)]! : 5));
    for (const noise of [
      [0, 0, 0],
      [2, 1, 0],
      [1, 0, 2],
    ]) {
      expect(summarizeBackup(axis, hours(noise)).worst.interval).toBe(noons[0]);
      // So of a day's own starts.
      const twice = hours(noise).map((h, i) => (h > 4 && noons.includes(i - 5) ? 2 - 2e-13 : h));
      expect(worstStarts(axis, twice, 1)).toEqual([{ interval: noons[0], hours: twice[noons[0]!] }]);
      expect(worstStarts(axis, hours(noise), 3).map((start) => start.interval)).toEqual(noons);
    }
    // What differs by more is told apart: 1e-6 h.
    const shorter = hours([0, -1e7, 0]);
    expect(summarizeBackup(axis, shorter).worst.interval).toBe(noons[1]);
    expect(worstStarts(axis, shorter, 2).map((start) => start.interval)).toEqual([noons[1], noons[0]]);
  });

  test('the worst month is the first of those that last the same but for last digits', () => {
    // Eight weeks from 5 January: evenings of January and February alike.
    const axis = axisOf(24 * 56);
    const { month } = axis.calendar;
    expect(
      worstMonth(
        axis,
        series(axis.intervals, (i) => (month[i] === 1 ? 3 + 1e-13 : 3)),
      ).month,
    ).toBe(1);
    expect(
      worstMonth(
        axis,
        series(axis.intervals, (i) => (month[i] === 1 ? 3 + 1e-6 : 3)),
      ).month,
    ).toBe(2);
  });

  test('the share of censored starts is told, and the cap never exceeds the axis', () => {
    const axis = axisOf(24);
    const summary = summarizeBackup(
      axis,
      series(24, (i) => (i < 6 ? 24 : 3)),
    );
    expect(summary.capHours).toBe(24);
    expect(summary.censoredShare).toBe(0.25);
  });

  test('hours above what they are counted to are refused, in a long axis as in a short one', () => {
    const day = axisOf(24);
    expect(() => summarizeBackup(day, new Float64Array(24).fill(25))).toThrow(InputError);
    const month = axisOf(24 * 30);
    const hours = new Float64Array(month.intervals).fill(400);
    expect(() => summarizeBackup(month, hours)).toThrow(InputError);
    expect(summarizeBackup(month, hours, 500).allHours.median).toBe(400);
  });

  test('reserve is what loads can get: (soc − shutdown)·ηd, never below zero', () => {
    const plant = plantOf({ shutdownKwh: 1, dischargeEfficiency: 0.9 });
    const summary = summarizeReserve(plant, Float64Array.of(1, 2, 3, 0.5, 10));
    expect(summary.minKwh).toBe(0);
    expect(summary.medianKwh).toBeCloseTo(0.9, 12);
    expect(summary.p10Kwh).toBe(0);
  });
});

test('more energy than the battery holds is refused, not counted as a reserve', () => {
  const axis = axisOf(24);
  const plant = plantOf({ capacityKwh: 9.6 });
  const socKwh = series(24, (i) => (i === 5 ? 1000 : 4));
  const island = { axis, plant, loadKwh: series(24, () => 1), solarKwh: new Float64Array(24) };
  const faultsOf = (call: () => unknown) => {
    try {
      call();
    } catch (error) {
      if (error instanceof InputError) return error.issues.map(({ code, where }) => `${code} ${where.path?.join('.')}`);
      throw error;
    }
    return [];
  };
  for (const call of [
    () => reserveKwh(plant, socKwh),
    () => summarizeReserve(plant, socKwh),
    () => reserveBySituation({ axis, plant, socKwh, peakSteps: new Uint8Array(24) }),
    () => backupHours({ ...island, socKwh }),
  ])
    expect(faultsOf(call)).toEqual(['above-capacity socKwh.5']);
  const full = new Float64Array(24).fill(9.6 * (1 + 1e-12));
  expect(faultsOf(() => backupHours({ ...island, socKwh: full, startKwh: 9.7 }))).toEqual(['above-capacity startKwh']);
  expect(faultsOf(() => simulateOutage({ ...island, start: 0, startSocKwh: 9.7, hours: 3 }))).toEqual([
    'above-capacity startSocKwh',
  ]);
  expect(faultsOf(() => [reserveKwh(plant, full), backupHours({ ...island, socKwh: full })])).toEqual([]);
});
