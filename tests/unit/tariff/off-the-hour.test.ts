import { makeAxis } from '@duskbank/core/axis';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';

const MINUTE_MS = 60_000;

function pricesOf(parts: object, startEpochMs: number, stepMinutes: number, intervals: number, series?: object) {
  const axis = makeAxis({ startEpochMs, stepMinutes, intervals, zone: 'Etc/UTC' });
  const tariff = parseTariff({ format: 'duskbank.tariff/1', name: 'Invented', currency: 'USD', ...parts });
  const compiled = compileTariff(tariff, axis, series === undefined ? {} : ({ series } as object));
  return [...compiled.importPricePerKwh];
}

describe('hours that begin off the hour', () => {
  // Friday 2026-01-09, 20:45 to 01:45 on Saturday.
  const friday = Date.UTC(2026, 0, 9, 20, 45);

  test('share their minutes between today’s window and tomorrow’s', () => {
    const windows = [
      { name: 'late', days: 'weekday', from: '22:00', to: '24:00', pricePerKwh: 0.4 },
      { name: 'weekend', days: 'weekend', from: '00:00', to: '01:00', pricePerKwh: 0.2 },
      { name: 'rest', otherwise: true, pricePerKwh: 0.1 },
    ];
    const prices = pricesOf({ windows }, friday, 60, 5);
    // 20:45 none of it, 21:45 three quarters late, 22:45 all, 23:45 a quarter late and three of the weekend, 00:45 the reverse.
    for (const [k, price] of [0.1, 0.325, 0.4, 0.25, 0.125].entries()) expect(prices[k]).toBeCloseTo(price, 12);
  });

  // A window over midnight belongs to each day that its hours lie on, or to the one that it begins on.
  test.each([
    { daysOf: undefined, until: 24 * 60 },
    { daysOf: 'start', until: 25 * 60 },
  ])('and with windows that run over midnight, days of $daysOf', ({ daysOf, until }) => {
    const windows = [
      { name: 'night', days: 'weekday', from: '23:00', to: '01:00', pricePerKwh: 0.4, ...(daysOf && { daysOf }) },
      { name: 'rest', otherwise: true, pricePerKwh: 0.1 },
    ];
    const prices = pricesOf({ windows }, friday, 60, 5);
    for (let k = 0; k < 5; k++) {
      const from = 20 * 60 + 45 + k * 60;
      const minutes = Math.max(0, Math.min(from + 60, until) - Math.max(from, 23 * 60));
      expect(prices[k]).toBeCloseTo(0.1 + (0.3 * minutes) / 60, 12);
    }
  });
});

describe('a price series of other steps than the data', () => {
  const start = Date.UTC(2026, 0, 9);
  const named = { energy: [{ name: 'Spot', series: { file: 'spot.csv' } }] };
  const spot = (startEpochMs: number, stepMinutes: number, pricePerKwh: number[]) => ({
    'spot.csv': { startEpochMs, stepMinutes, pricePerKwh },
  });

  test('finer prices are averaged', () => {
    expect(pricesOf(named, start, 60, 2, spot(start, 15, [0.1, 0.2, 0.3, 0.6, 0.2, 0.2, 0.4, 0]))).toEqual([
      expect.closeTo(0.3, 12),
      expect.closeTo(0.2, 12),
    ]);
  });

  test('coarser prices hold through their step', () => {
    expect(pricesOf(named, start, 30, 4, spot(start, 60, [0.1, 0.3]))).toEqual([0.1, 0.1, 0.3, 0.3]);
  });

  test('steps that lie over two prices take each by its minutes', () => {
    const prices = pricesOf(named, start + 45 * MINUTE_MS, 60, 2, spot(start, 60, [0.1, 0.3, 0.5]));
    expect(prices).toEqual([expect.closeTo(0.25, 12), expect.closeTo(0.45, 12)]);
  });

  test('a price that the data don’t reach may be missing, one that they do is named', () => {
    const gone = [Number.NaN, 0.3, 0.5, Number.NaN];
    expect(pricesOf(named, start + 60 * MINUTE_MS, 60, 2, spot(start, 60, gone))).toEqual([0.3, 0.5]);
    const reached = () => pricesOf(named, start + 60 * MINUTE_MS, 60, 2, spot(start, 60, [0.1, 0.3, Number.NaN, 0.2]));
    expect(reached).toThrow(/no price at 2026-01-09 02:00 UTC/);
    const short = () => pricesOf(named, start + 60 * MINUTE_MS, 60, 4, spot(start, 60, [0.1, 0.3, 0.2, 0.2]));
    expect(short).toThrow(/from 2026-01-09 00:00 to 2026-01-09 04:00/);
  });
});
