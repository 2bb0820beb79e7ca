import { makeAxis } from '@duskbank/core/axis';
import {
  clearSkyScaled,
  type Forecaster,
  likeDayBlend,
  likeDayQuantile,
  persistence,
  sameWeekday,
  scoreForecast,
} from '@duskbank/core/dispatch';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seeded } from '../../support/homes.ts';

// 2026-01-05 is a Monday.
const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 24 * 28, zone: 'Etc/UTC' });
const weekly = Float64Array.from({ length: axis.intervals }, (_, i) => (axis.calendar.weekday[i]! >= 6 ? 2 : 1));
const all: Forecaster[] = [persistence, sameWeekday, likeDayBlend, likeDayQuantile(0.9), clearSkyScaled];

describe('forecasts from the past', () => {
  it('a week that repeats is forecast without error by the same weekday from the second week on', () => {
    const late = { ...scoreForecast(axis, weekly, sameWeekday) };
    // First week only: the day before stands in, wrong on Saturday alone: 24 of 27 · 24 intervals, by 1 kWh
    expect(late.mae).toBeCloseTo(24 / (27 * 24), 12);
    expect(late.bias).toBeCloseTo(-24 / (27 * 24), 12);
  });

  it('persistence is off by one at both ends of each weekend', () => {
    // Saturdays 4, Mondays 3: 7 days of 27
    expect(scoreForecast(axis, weekly, persistence).mae).toBeCloseTo(7 / 27, 12);
    expect(scoreForecast(axis, weekly, persistence).bias).toBeCloseTo(-1 / 27, 12);
  });

  it('one day alone scores nothing: there is no day before it', () => {
    const day = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 24, zone: 'Etc/UTC' });
    expect(scoreForecast(day, new Float64Array(24).fill(2), persistence)).toMatchObject({
      mae: 0,
      bias: 0,
      pinball: 0,
      days: 0,
    });
  });

  it('a second day of one interval is scored by that interval', () => {
    const short = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 25, zone: 'Etc/UTC' });
    const values = new Float64Array(25).fill(2);
    values[24] = 5;
    expect(scoreForecast(short, values, persistence)).toMatchObject({ mae: 3, bias: -3, days: 1 });
  });

  it('like days tell weekends from weekdays', () => {
    const guess = likeDayBlend.forecast(axis, weekly, 19); // Saturday of the third week
    // Four of its seven like days are weekend days, the recent ones: 2 · (1 + .8 + .64 + .512) + (.4096 + .32768 + .262144)
    const weights = [1, 0.8, 0.64, 0.512, 0.4096, 0.32768, 0.262144];
    const total = weights.reduce((a, b) => a + b);
    const weekend = weights.slice(0, 4).reduce((a, b) => a + b);
    expect(guess[0]).toBeCloseTo((2 * weekend + (total - weekend)) / total, 12);
  });

  it('a quantile lies where it says, and pays the pinball loss', () => {
    const random = seeded(3);
    const noise = Float64Array.from({ length: axis.intervals }, () => random());
    const high = scoreForecast(axis, noise, likeDayQuantile(0.9), 0.9);
    const middle = scoreForecast(axis, noise, likeDayQuantile(0.5), 0.9);
    expect(high.pinball).toBeLessThan(middle.pinball);
    expect(high.bias).toBeGreaterThan(0.2);
  });

  it('a quantile is read between the like days, by rank', () => {
    const byDay = Float64Array.from(axis.calendar.day, (day) => day);
    // Day 21 is a Monday: the last five weekdays are 14 to 18; three quarters of the way from the lowest to the
    // highest is the fourth, 17; nine tenths is 0.6 of the way from 17 to 18.
    expect(likeDayQuantile(0.75, 5).forecast(axis, byDay, 21)[5]).toBeCloseTo(17, 12);
    expect(likeDayQuantile(0.9, 5).forecast(axis, byDay, 21)[5]).toBeCloseTo(17.6, 12);
  });

  it('a year on, the same season of last year joins the blend', () => {
    const long = makeAxis({
      startEpochMs: Date.UTC(2025, 0, 6),
      stepMinutes: 60,
      intervals: 24 * 380,
      zone: 'Etc/UTC',
    });
    const heated = Float64Array.from(long.calendar.day, (day) => (day < 30 ? 1 : 0));
    // Seven like days of late weigh 1 + .8 + … + .8⁶ = 3.9514 and were 0; days 3 to 9 of last year weigh 0.3 and were 1.
    expect(likeDayBlend.forecast(long, heated, 370)[0]).toBeCloseTo(0.3 / (3.951424 + 0.3), 12);
    expect(likeDayBlend.forecast(long, heated, 360)[0]).toBe(0);
  });

  it('scores what came: mean absolute error, bias, pinball loss', () => {
    const two = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 48, zone: 'Etc/UTC' });
    const values = Float64Array.from({ length: 48 }, (_, i) => (i < 24 ? 1 : i < 36 ? 3 : 0));
    // Twelve hours lack 2, twelve are 1 too high: (24 + 12) ÷ 24; (−24 + 12) ÷ 24; (0.9 · 24 + 0.1 · 12) ÷ 24.
    expect(scoreForecast(two, values, persistence, 0.9)).toEqual({
      name: 'persistence',
      mae: 1.5,
      bias: -0.5,
      pinball: expect.closeTo(0.95, 12),
      days: 1,
    });
  });

  it.each(all)(
    '$name knows the past alone: another life from a day on changes no forecast of that day',
    (forecaster) => {
      fc.assert(
        fc.property(
          fc.record({
            stepMinutes: fc.constantFrom(15, 30, 60),
            zone: fc.constantFrom('America/Denver', 'Europe/London', 'Asia/Kolkata'),
            // Before a clock change, and on a day that the axis cuts short.
            start: fc.constantFrom('2026-03-01T07:00:00Z', '2026-10-20T15:30:00Z'),
            days: fc.integer({ min: 2, max: 40 }),
            at: fc.double({ min: 0, max: 1, maxExcluded: true, noNaN: true }),
            seed: fc.nat(),
          }),
          ({ stepMinutes, zone, start, days, at, seed }) => {
            const any = makeAxis({
              startEpochMs: Date.parse(start),
              stepMinutes,
              intervals: (days * 1440) / stepMinutes,
              zone,
            });
            const { day, days: known } = any.calendar;
            const target = 1 + Math.floor(at * (known.length - 1));
            const random = seeded(seed);
            const values = Float64Array.from(day, () => random());
            const changed = values.map((value, i) => (day[i]! >= target ? 100 * random() : value));
            const forecast = forecaster.forecast(any, values, target);
            expect(forecast.length).toBe(known[target]!.intervals);
            expect(forecast.every((kwh) => kwh >= 0 && kwh <= 1)).toBe(true);
            expect(forecaster.forecast(any, changed, target)).toEqual(forecast);
          },
        ),
        { seed: 20260112, numRuns: 60 },
      );
    },
  );

  it('solar after clear days is a clear day, after dull ones a dull one', () => {
    const sun = Float64Array.from({ length: axis.intervals }, (_, i) =>
      Math.max(0, Math.sin(((axis.calendar.minuteOfDay[i]! / 60 - 6) / 12) * Math.PI)),
    );
    const guess = clearSkyScaled.forecast(axis, sun, 10);
    expect(guess[12]).toBeCloseTo(1, 12);
    const dull = sun.map((kwh, i) => (axis.calendar.day[i] === 9 ? 0 : kwh));
    // ten days, one of them dark: clearness (0 + 0.9) ÷ 2
    expect(clearSkyScaled.forecast(axis, dull, 10)[12]).toBeCloseTo(0.45, 12);
  });
});

it('a clear sky is what the last two weeks saw, and no day before them', () => {
  // One day of sun, the first: on day 14 it is the oldest of two weeks, on day 15 it is past.
  const sunny = Float64Array.from({ length: axis.intervals }, (_, i) => (i === 12 ? 3 : 0));
  // Nothing yesterday, and a fourteenth of it in the mean: half of that.
  expect(clearSkyScaled.forecast(axis, sunny, 14)[12]).toBeCloseTo(3 * 0.5 * (1 / 14), 12);
  expect(clearSkyScaled.forecast(axis, sunny, 15)[12]).toBe(0);
});
