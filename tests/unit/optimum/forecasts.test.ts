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

  it.each(all)('$name knows the past alone', (forecaster) => {
    const random = seeded(5);
    const values = Float64Array.from({ length: axis.intervals }, () => random());
    const changed = values.map((value, i) => (axis.calendar.day[i]! >= 15 ? 100 + value : value));
    expect(forecaster.forecast(axis, changed, 15)).toEqual(forecaster.forecast(axis, values, 15));
  });

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
