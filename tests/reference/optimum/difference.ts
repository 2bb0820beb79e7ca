import { optimalDispatch } from '@duskbank/core/dispatch';
import type { Highs } from 'highs';
import { expect } from 'vitest';
import { checkSchedule, shortOfFloor } from './check-schedule.ts';
import { solveProgram } from './linear-program.ts';
import { type PriceKind, randomProblem } from './problems.ts';

/** What leaving a kWh unserved costs in the solver's programs: more than anything that money could buy. */
export const UNSERVED = 200;

/**
 * Relative difference between our optimum of a random problem and HiGHS’s, an outside solver for linear programs, with
 * 1 (money) as the least scale: costs near zero are differences of large sums. Our schedule is checked on the way.
 */
export function difference(highs: Highs, seed: number, intervals: number, kind: PriceKind): number {
  const problem = randomProblem(seed, intervals, kind);
  const expected = solveProgram(highs, problem, { unservedPerKwh: UNSERVED });
  const solution = optimalDispatch(problem);
  expect(solution.proof, `seed ${seed}`).toBe('exact');
  const check = checkSchedule(problem, solution);
  expect(check.faults, `seed ${seed}`).toEqual([]);
  expect(shortOfFloor(problem, solution), `seed ${seed}`).toBeLessThan(1e-9 * intervals);
  expect(Math.abs(check.cost - solution.cost), `seed ${seed}`).toBeLessThanOrEqual(
    1e-9 * Math.max(1, Math.abs(check.cost)),
  );
  const unserved = solution.unservedKwh.reduce((sum, kwh) => sum + kwh, 0);
  const total = solution.cost + UNSERVED * unserved;
  return Math.abs(total - expected) / Math.max(1, Math.abs(expected));
}
