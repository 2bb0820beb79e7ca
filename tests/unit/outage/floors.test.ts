import { makeAxis } from '@duskbank/core/axis';
import { checkDocument } from '@duskbank/core/input';
import { backupSchema, movingFloor, reserveBySituation } from '@duskbank/core/outage';
import { describe, expect, test } from 'vitest';
import { axisOf, plantOf, series } from './island-home.ts';

describe('floors that move', () => {
  const axis = axisOf(24 * 60);

  test('by month and by hour: the highest that applies holds', () => {
    const { floorKwh } = movingFloor({
      axis,
      plant: plantOf({ floorKwh: 1 }),
      reserve: {
        byMonth: [{ months: [2], share: 0.5 }],
        byHour: [{ from: '21:00', to: '06:00', share: 0.3 }],
      },
      islandLoadKwh: series(axis.intervals, 1),
    });
    // The axis starts on January 5; February 1 is day 27.
    const at = (day: number, hour: number) => floorKwh[day * 24 + hour];
    expect([at(0, 12), at(0, 21), at(1, 5), at(1, 6)]).toEqual([1, 3, 3, 1]);
    expect([at(27, 12), at(27, 23)]).toEqual([5, 5]);
  });

  test('enough for N hours: the hungriest of the last seven days’ same hours, with standby, over ηd', () => {
    const plant = plantOf({ shutdownKwh: 0.5, dischargeEfficiency: 0.8, standbyW: 100 });
    // 0.2 kW, and 1 kW from 18:00 to 20:00 on the third day only.
    const load = series(axis.intervals, (i) => (Math.floor(i / 24) === 2 && i % 24 >= 18 && i % 24 < 20 ? 1 : 0.2));
    const { floorKwh } = movingFloor({ axis, plant, reserve: { keepHours: 4 }, islandLoadKwh: load });
    // Kept at the end of 17:00, for 18:00 to 22:00. On the first day what is known: 0.8 kWh in any four hours, as below.
    const at = (day: number, hour: number) => floorKwh[day * 24 + hour]!;
    expect(at(0, 0)).toBe(0);
    expect(at(0, 2)).toBeCloseTo(2, 12);
    expect(at(0, 17)).toBeCloseTo(2, 12);
    // Day 2: day 1 took 0.8 kWh; with standby 1.2, over 0.8, above 0.5: 2 kWh.
    expect(at(2, 17)).toBeCloseTo(2, 12);
    // Days 3 to 9 remember the evening of day 2: 2.4 + 0.4 = 2.8 over 0.8, above 0.5: 4 kWh; day 10 has forgotten it.
    expect(at(3, 17)).toBeCloseTo(4, 12);
    expect(at(9, 17)).toBeCloseTo(4, 12);
    expect(at(10, 17)).toBeCloseTo(2, 12);
    // Half of the energy lost to age and a gauge that reads 0.25 kWh too high: (0.5 + 1.5 + 0.25) / 0.5.
    const margins = { energyShare: 0.5, gaugeErrorKwh: 0.25 };
    const worn = movingFloor({ axis, plant, reserve: { keepHours: 4 }, islandLoadKwh: load, ...margins }).floorKwh;
    expect(worn[2 * 24 + 17]).toBeCloseTo(4.5, 12);
  });

  test.each([
    ['a night of 25 hours', '2025-10-20T04:00Z', '2025-11-02'],
    ['a night of 23 hours', '2026-02-24T05:00Z', '2026-03-08'],
  ])('the hours are those of the clock, after %s too', (_, start, changed) => {
    const days = 20;
    const zoned = makeAxis({
      startEpochMs: Date.parse(start),
      stepMinutes: 60,
      intervals: 24 * days,
      zone: 'America/New_York',
    });
    const { minuteOfDay, day, days: dates } = zoned.calendar;
    // 1 kWh from 18:00 to 19:00 by the clock, every day, and 0.2 else.
    const load = series(zoned.intervals, (i) => (minuteOfDay[i] === 18 * 60 ? 1 : 0.2));
    const plant = plantOf({ dischargeEfficiency: 0.8, standbyW: 0, shutdownKwh: 0 });
    const { floorKwh } = movingFloor({ axis: zoned, plant, reserve: { keepHours: 1 }, islandLoadKwh: load });
    let seen = 0;
    for (let i = 48; i < zoned.intervals; i++) {
      const { civilDay } = dates[day[i]!]!;
      if (civilDay === Date.parse(`${changed}T00:00Z`) / 86_400_000 && minuteOfDay[i] === 17 * 60) seen++;
      const expected = minuteOfDay[i] === 17 * 60 ? 1 : 0.2;
      expect(floorKwh[i], `${i}`).toBeCloseTo(expected / 0.8, 12);
    }
    expect(seen).toBe(1);
  });

  test('the moving floor never looks ahead', () => {
    const load = series(axis.intervals, (i) => 0.3 + 0.2 * Math.sin(i));
    const floors = (changed: Float64Array) =>
      movingFloor({ axis, plant: plantOf(), reserve: { keepHours: 30 }, islandLoadKwh: changed }).floorKwh;
    const base = floors(load);
    for (const t of [50, 300, 301, 700]) {
      const other = floors(load.map((kwh, i) => (i >= t ? kwh * 3 : kwh)));
      expect(other.subarray(0, t)).toEqual(base.subarray(0, t));
    }
    expect(floors(load.map((kwh) => kwh * 2))).not.toEqual(base);
  });

  test('a planned outage fills the battery from notice on, and says whether there was time', () => {
    const planned = (noticeHours: number, plant = plantOf({ chargeLimitKw: 2, floorKwh: 2 })) =>
      movingFloor({
        axis,
        plant,
        reserve: { planned: [{ from: '2026-01-10T08:00', to: '2026-01-10T16:00', noticeHours }] },
        islandLoadKwh: series(axis.intervals, 1),
      });
    // 8 kWh at 2 kW take four hours.
    const inTime = planned(4);
    const at = 5 * 24 + 8;
    expect(inTime.planned[0]).toMatchObject({ interval: at, fillHours: 4, verdict: 'in-time' });
    expect([...inTime.floorKwh.subarray(at - 5, at)]).toEqual([2, 4, 6, 8, 10]);
    // Held until the grid is back, eight hours later.
    expect([...inTime.floorKwh.subarray(at, at + 9)]).toEqual([10, 10, 10, 10, 10, 10, 10, 10, 2]);
    expect(planned(3).planned[0]!.verdict).toBe('too-late');
    // As high as three hours reach; without grid charging nothing is reached for sure, and the lack is told.
    expect([...planned(3).floorKwh.subarray(at - 4, at + 1)]).toEqual([2, 4, 6, 8, 8]);
    expect([...planned(3).floorKwh.subarray(at + 7, at + 9)]).toEqual([8, 2]);
    const sunOnly = planned(3, plantOf({ chargeLimitKw: 2, floorKwh: 2, gridCharging: false }));
    expect([...sunOnly.floorKwh.subarray(at - 4, at + 1)]).toEqual([2, 10, 10, 10, 10]);
    expect(planned(48, plantOf({ gridCharging: false })).planned[0]!.verdict).toBe('no-grid-charging');
  });

  test('one that follows another before an empty battery is full again is not promised a full one', () => {
    const verdicts = (from: string) =>
      movingFloor({
        axis,
        plant: plantOf({ chargeLimitKw: 2, floorKwh: 2 }),
        reserve: {
          planned: [
            { from, to: '2026-01-11T23:00', noticeHours: 24 },
            { from: '2026-01-10T08:00', to: '2026-01-10T16:00', noticeHours: 24 },
          ],
        },
        islandLoadKwh: series(axis.intervals, 1),
      }).planned.map(({ verdict }) => verdict);
    // 10 kWh at 2 kW take five hours.
    expect(verdicts('2026-01-10T21:00')).toEqual(['in-time', 'in-time']);
    expect(verdicts('2026-01-10T20:59')).toEqual(['in-time', 'after-another']);
    expect(verdicts('2026-01-10T12:00')).toEqual(['in-time', 'after-another']);
  });

  test('planned outages are read on the local clock, and off the data they say so', () => {
    const local = makeAxis({
      startEpochMs: Date.UTC(2026, 0, 5, 7),
      stepMinutes: 60,
      intervals: 240,
      zone: 'America/Denver',
    });
    const plan = (from: string) =>
      movingFloor({
        axis: local,
        plant: plantOf(),
        reserve: { planned: [{ from, to: from.replace('T08', 'T12'), noticeHours: 10 }] },
        islandLoadKwh: series(240, 1),
      }).planned[0]!;
    expect(plan('2026-01-06T08:00').interval).toBe(32);
    expect(plan('2027-01-06T08:00').verdict).toBe('off-axis');
  });

  test('reserve sections with bad dates and shares are refused', () => {
    const faults = (reserve: object) => {
      const checked = checkDocument(backupSchema, { reserve });
      return checked.ok ? [] : checked.issues.map((issue) => issue.where.path?.slice(1).join('.'));
    };
    expect(faults({ keepHours: 6 })).toEqual([]);
    expect(faults({ keepHours: 0 })).toEqual(['keepHours']);
    expect(faults({ byMonth: [{ months: [13], share: 2 }] })).toEqual(['byMonth.0.months.0', 'byMonth.0.share']);
    expect(faults({ planned: [{ from: 'tomorrow', to: '2026-07-04T08:00', noticeHours: 4 }] })).toEqual([
      'planned.0.from',
    ]);
    expect(
      faults({ planned: [{ from: '2026-07-04T08:00', to: '2026-07-04T08:00', noticeHours: 4 }] }),
      'an outage of no length',
    ).toEqual(['planned.0.to']);
  });
});

describe('reserve by situation', () => {
  test('the end of on-peak, event nights and the storm season stand apart', () => {
    const axis = axisOf(24 * 60);
    const steps = (from: number, to: number, everyDays = 1) =>
      Uint8Array.from({ length: axis.intervals }, (_, i) =>
        i % 24 >= from && i % 24 < to && Math.floor(i / 24) % everyDays === 0 ? 1 : 0,
      );
    const reserve = reserveBySituation({
      axis,
      plant: plantOf({ dischargeEfficiency: 0.5 }),
      socKwh: series(axis.intervals, (i) => (i % 24 === 19 ? 2 : i % 24 === 21 ? 1 : 8)),
      peakSteps: steps(16, 20),
      eventSteps: steps(16, 22, 7),
      stormMonths: [2],
    });
    expect(reserve.allHours.medianKwh).toBe(4);
    expect(reserve.endOfPeak).toEqual({ minKwh: 1, p10Kwh: 1, medianKwh: 1 });
    expect(reserve.eventNights).toEqual({ minKwh: 0.5, p10Kwh: 0.5, medianKwh: 0.5 });
    expect(reserve.stormSeason!.minKwh).toBe(0.5);
  });
});
