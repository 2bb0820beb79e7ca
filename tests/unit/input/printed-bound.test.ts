import { printedBound } from '@duskbank/core/input';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { fixedBound, hours, hoursAtMost, moneyBound } from '../../../packages/cli/src/render/numbers.ts';
import { figureBound, kwBound } from '../../../packages/core/src/words/figures.ts';
import { STUDY_WORDS } from '../../../packages/core/src/words/study.ts';

const amount = fc.double({ min: 0, max: 1e6, noNaN: true });
/** Floating point may leave a billionth behind. */
const near = (value: number) => 2e-9 * Math.max(1, value);
const read = (text: string) => Number(text.replaceAll(',', '').match(/\d+(\.\d+)?/)![0]);

test('a printed bound holds of the exact value, and is off by less than its last digit', () => {
  fc.assert(
    fc.property(amount, fc.integer({ min: 0, max: 4 }), (value, decimals) => {
      const [up, down] = [printedBound(value, 'up', decimals), printedBound(value, 'down', decimals)];
      expect(up).toBeGreaterThanOrEqual(value - near(value));
      expect(down).toBeLessThanOrEqual(value + near(value));
      expect(up - down).toBeLessThanOrEqual(10 ** -decimals + near(value));
      // What has no more digits than are printed stays as it is.
      const plain = Math.round(value) / 10 ** decimals;
      expect(printedBound(plain, 'up', decimals)).toBe(plain);
      expect(printedBound(plain, 'down', decimals)).toBe(plain);
    }),
  );
});

test('as text too: money, figures, powers', () => {
  fc.assert(
    fc.property(amount, (value) => {
      expect(read(fixedBound(value, 'up', 1))).toBeGreaterThanOrEqual(value - near(value));
      expect(read(moneyBound(value, 'down', 'USD', 2))).toBeLessThanOrEqual(value + near(value));
      expect(read(figureBound(value, 'up'))).toBeGreaterThanOrEqual(value - near(value));
      expect(read(kwBound(value, 'up'))).toBeGreaterThanOrEqual(value - near(value));
      expect(read(kwBound(value, 'down'))).toBeLessThanOrEqual(value + near(value));
    }),
  );
  expect([kwBound(3.8361, 'up'), kwBound(0, 'up'), figureBound(1234.2, 'up')]).toEqual(['3.837 kW', '0 kW', '1,235']);
});

test('hours of backup are rounded down, hours of filling up, in every unit', () => {
  const inHours = (text: string) => read(text) * (text.endsWith('min') ? 1 / 60 : text.endsWith('days') ? 24 : 1);
  fc.assert(
    fc.property(
      fc.oneof(fc.double({ min: 0, max: 2, noNaN: true }), fc.double({ min: 0, max: 400, noNaN: true })),
      (value) => {
        expect(inHours(hours(value))).toBeLessThanOrEqual(value + near(value));
        expect(inHours(hoursAtMost(value))).toBeGreaterThanOrEqual(value - near(value));
      },
    ),
  );
  expect([hours(0.999), hours(2.96), hours(47.99), hours(8)]).toEqual(['59 min', '2.9 h', '47.9 h', '8.0 h']);
  expect([hoursAtMost(0.999), hoursAtMost(2.91), hoursAtMost(47.99), hoursAtMost(8)]).toEqual([
    '1.0 h',
    '3.0 h',
    '2.0 days',
    '8.0 h',
  ]);
});

test('sentences of the core round their bounds as the pages do', () => {
  const told = STUDY_WORDS['floor-shortfall']({ strategy: 'rolling', intervals: 3, mostKwh: 0.4311, asBest: true });
  expect(told).toContain('by up to 0.44 kWh');
  const kept = STUDY_WORDS['keep-hours-beyond-battery']({ hours: 8, mostKwh: 12.34, capacityKwh: 10 });
  expect(kept).toContain('take up to 12.4 kWh');
});
