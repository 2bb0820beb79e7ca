// Products of decimals, rounded once: by whole numbers where these are small, by long ones where not. Both against
// decimal.js, over every magnitude that a meter and a tariff can state.
import { Decimal } from 'decimal.js';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { decimalOf, decimalQuantity, multiply, roundSum, roundUnits } from '../../../packages/core/src/tariff/money.ts';

const Exact = Decimal.clone({ precision: 120, toExpNeg: -40, toExpPos: 40 });
const MODES = {
  'half-up': Decimal.ROUND_HALF_UP,
  'half-even': Decimal.ROUND_HALF_EVEN,
  up: Decimal.ROUND_UP,
  down: Decimal.ROUND_DOWN,
} as const;
const modes = fc.constantFrom(...(Object.keys(MODES) as (keyof typeof MODES)[]));

/** Numbers as they are written: so many digits, so many of them decimals. */
const written = fc
  .tuple(fc.integer({ min: 0, max: 15 }), fc.integer({ min: 0, max: 12 }), fc.nat(), fc.nat(), fc.boolean())
  .map(([digits, decimals, a, b, below]) => {
    const whole = `${a}${b}`.slice(0, digits) || '0';
    const value = Number(`${whole}e-${decimals}`);
    return below ? -value : value;
  });
const amountOf = (value: number, rate: number, times: number, per: number) =>
  new Exact(value).times(rate).times(times).div(per);

test('any product of what can be written is the exact one, rounded once', () => {
  fc.assert(
    fc.property(
      written,
      written,
      fc.constantFrom(1, 12, 29, 30.5, 366),
      fc.constantFrom(1, 30, 31, 365, 0.9),
      fc.integer({ min: 0, max: 5 }),
      modes,
      (value, rate, times, per, decimals, mode) => {
        const units = multiply(decimalOf(value), decimalOf(rate), times, per, decimals, mode);
        const exact = amountOf(value, rate, times, per).times(10 ** decimals);
        expect(units).toBe(exact.toDecimalPlaces(0, MODES[mode]).toNumber() + 0);
      },
    ),
    { numRuns: 3000 },
  );
});

// Products on both sides of what a number holds to the unit (2^53) and of a quarter of it, where twice a rest still fits.
const LIMITS = [2 ** 53, 2 ** 51, 2 ** 50];

test.each(LIMITS)('halves are rounded as halves on both sides of %d', (limit) => {
  for (const share of [0.2, 0.45, 0.5, 0.9, 0.999, 1.001, 1.1, 1.9])
    for (let k = 0; k < 40; k++) {
      // An odd value that ends on 5 in its one decimal, by an odd price or number of days: a half of a unit.
      const odd = [3, 7, 11][k % 3]!;
      const [rate, times] = k % 2 === 0 ? [odd, 1] : [1, odd];
      const digits = 10 * Math.floor((limit * share) / odd / 10) + 5 + 10 * k;
      expect(Number.isSafeInteger(digits)).toBe(true);
      for (const mode of Object.keys(MODES) as (keyof typeof MODES)[])
        expect(multiply({ digits, scale: 1 }, decimalOf(rate), times, 1, 0, mode), `${digits} ${odd} ${mode}`).toBe(
          new Exact(digits).times(odd).div(10).toDecimalPlaces(0, MODES[mode]).toNumber(),
        );
    }
});

test('a denominator above the limit doesn’t lose the rest', () => {
  // 1 ÷ (366 · 10^15): far below a unit, and up it is one.
  const tiny = { digits: 1, scale: 15 };
  expect(multiply(tiny, { digits: 1, scale: 0 }, 1, 366, 0, 'up')).toBe(1);
  expect(multiply(tiny, { digits: 1, scale: 0 }, 1, 366, 0, 'half-up')).toBe(0);
});

test('what a number is written as comes back, whatever its size', () => {
  fc.assert(
    fc.property(
      fc.oneof(written, fc.double({ noNaN: true, noDefaultInfinity: true, min: -1e21, max: 1e21 })),
      (value) => {
        const { digits, scale } = decimalOf(value);
        expect(new Exact(String(digits)).div(new Exact(10).pow(scale)).toNumber()).toBe(value + 0);
      },
    ),
    { numRuns: 2000 },
  );
});

test('a meter’s quantity has its decimals, also where its digits pass what a number holds', () => {
  expect(decimalQuantity(1.2345, 3)).toEqual({ digits: 1235, scale: 3 });
  const { digits, scale } = decimalQuantity(123_456_789_012.5, 6);
  expect(new Exact(String(digits)).div(new Exact(10).pow(scale)).toNumber()).toBe(123_456_789_012.5);
});

test('sums in binary round as the decimals that they stand for', () => {
  expect(roundSum(26.124999999999996, 2, 'half-up')).toBe(2613);
  expect(roundSum(-26.124999999999996, 2, 'half-up')).toBe(-2613);
  expect(roundSum(26.125, 2, 'half-even')).toBe(2612);
  expect(roundUnits(26_125, 3, 2, 'half-even')).toBe(2612);
  expect(roundUnits(26_135, 3, 2, 'half-even')).toBe(2614);
  expect(roundUnits(26_121, 3, 2, 'up')).toBe(2613);
  expect(roundUnits(-26_129, 3, 2, 'down')).toBe(-2612);
});
