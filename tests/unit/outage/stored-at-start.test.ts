import { makeAxis } from '@duskbank/core/axis';
import { expect, it } from 'vitest';
import { storedAtStart } from '../../../packages/core/src/outage/cold-floors.ts';

/** Cells that take nothing from November to February. */
const cold = { limitC: 0, lowsC: [-5, -3, 4, 8, 12, 16, 18, 17, 13, 7, 0, -4] };
const allYear = Array.from({ length: 12 }, (_, m) => m + 1);
const startingIn = (month: number) =>
  makeAxis({ startEpochMs: Date.UTC(2026, month - 1, 1, 7), stepMinutes: 60, intervals: 24, zone: 'America/Denver' });

// A battery of 10 kWh with 2 kWh that stand all year; in the first interval 9 kWh are kept, for an outage that is planned, say.
it.each([
  ['a warm month: the floor', 3, cold, [], 9],
  ['the month after the cold: the floor', 3, cold, [{ months: [1], share: 0.5 }], 9],
  ['no cold is stated', 1, undefined, [], 9],
  ['in the cold: what stands all year', 1, cold, [], 2],
  ['a low at the limit is too cold', 11, cold, [], 2],
  ['no less than its month keeps', 1, cold, [{ months: [1], share: 0.5 }], 5],
  ['no less than what is kept all year', 12, cold, [{ months: allYear, share: 0.3 }], 3],
  ['no less than stands all year, where its month keeps less', 12, cold, [{ months: allYear, share: 0.1 }], 2],
  [
    'the higher of two rules of a month',
    2,
    cold,
    [
      { months: [2], share: 0.5 },
      { months: [2], share: 0.6 },
    ],
    6,
  ],
  [
    'a rule of a month in the cold holds since it began',
    2,
    cold,
    [
      { months: [1, 2], share: 0.4 },
      { months: [2], share: 0.7 },
    ],
    7,
  ],
  ['what November keeps alone has been spent since', 1, cold, [{ months: [11], share: 0.8 }], 2],
  ['never above the floor', 1, cold, [{ months: [1], share: 1 }], 9],
] as const)('%s', (_what, month, of, byMonth, kwh) => {
  const backup = { reserve: { byMonth }, cold: of } as unknown as Parameters<typeof storedAtStart>[4];
  expect(storedAtStart(startingIn(month), 9, 2, 10, backup)).toBeCloseTo(kwh, 12);
});
