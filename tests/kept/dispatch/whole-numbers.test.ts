// Kept answers: see tests/support/kept.ts.
import { optimalDispatch } from '@duskbank/core/dispatch';
import { expect, test } from 'vitest';
import { wholeProblem } from '../../reference/optimum/whole-problems.ts';
import { kept } from '../../support/kept.ts';
import { seedsFrom } from '../../support/kept-sites.ts';

/** What is cheapest where prices are equal, loads stand at limits and stores at their floor: tests/reference/optimum says that it is. */
test.each(seedsFrom(0, 20))('problems whose figures are often equal, lot %d', (lot) => {
  const solutions = seedsFrom(5000 + 20 * lot, 20).map((seed) => {
    const { problem, demand } = wholeProblem(seed);
    return { ...optimalDispatch({ ...problem, ...(demand === undefined ? {} : { demandCharges: [demand] }) }) };
  });
  expect(kept({ solutions, cost: solutions.reduce((sum, { cost }) => sum + cost, 0) })).toMatchSnapshot();
});
