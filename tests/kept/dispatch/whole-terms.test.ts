// Kept answers: see tests/support/kept.ts.
import { optimalDispatch } from '@duskbank/core/dispatch';
import { expect, test } from 'vitest';
import { termProblem } from '../../reference/optimum/whole-terms.ts';
import { kept } from '../../support/kept.ts';
import { seedsFrom } from '../../support/kept-sites.ts';

/** What is cheapest with each part of a bill, alone and beside another, and how far it is proven: tests/reference/optimum says that it is. */
test.each(seedsFrom(0, 24))('small problems with parts of a bill beside prices, lot %d', (lot) => {
  const solutions = seedsFrom(9000 + 40 * lot, 40).map((seed) => ({ ...optimalDispatch(termProblem(seed).problem) }));
  const total = (of: 'cost' | 'gap') => solutions.reduce((sum, solution) => sum + solution[of], 0);
  expect(kept({ solutions, cost: total('cost'), gap: total('gap') })).toMatchSnapshot();
});
