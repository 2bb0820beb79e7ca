// Kept answers: see tests/support/kept.ts. Sentences that list things: the first of them, and how many more there are.
import { expect, test } from 'vitest';
import { energyLeftOut, gapsLeft } from '../../../packages/core/src/words/placing.ts';

test.each([1, 2, 5, 6, 7, 8, 20])('%d registers that are left out', (count) => {
  const left = Array.from({ length: count }, (_, k) => ({ stream: `register ${k + 1}`, energyKwh: 10 * k + 0.4 }));
  expect(energyLeftOut({ left, share: count / 25 })).toMatchSnapshot();
});

test.each([0, 1, 2, 1000])('%d intervals of which nothing else is read', (alone) => {
  expect(gapsLeft(alone)).toMatchSnapshot();
});
