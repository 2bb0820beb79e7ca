import { optimalDispatch } from '@duskbank/core/dispatch';
import type { Highs } from 'highs';
import { beforeAll, expect, it } from 'vitest';
import { checkSchedule } from './check-schedule.ts';
import { UNSERVED } from './difference.ts';
import { loadSolver, solveProgram } from './linear-program.ts';
import { wholeProblem } from './whole-problems.ts';

let highs: Highs;
beforeAll(async () => {
  highs = await loadSolver();
});

/** Of sums of a few halves and tenths; the solver's own integrality tolerance is 1e-6. */
const NEAR = 3e-6;

it.each(Array.from({ length: 24 }, (_, k) => k))(
  'agrees on 100 problems whose figures are often equal, lot %d',
  (lot) => {
    let proven = 0;
    for (let seed = 100 * lot + 1; seed <= 100 * (lot + 1); seed++) {
      const { problem, demand } = wholeProblem(seed);
      const expected = solveProgram(highs, problem, {
        unservedPerKwh: UNSERVED,
        exclusive: true,
        ...(demand === undefined ? {} : { demand: [demand] }),
      });
      const solution = optimalDispatch({ ...problem, ...(demand === undefined ? {} : { demandCharges: [demand] }) });
      expect(checkSchedule(problem, solution).faults, `seed ${seed}`).toEqual([]);
      const total = solution.cost + UNSERVED * solution.unservedKwh.reduce((sum, kwh) => sum + kwh, 0);
      expect(total, `seed ${seed}`).toBeGreaterThanOrEqual(expected - NEAR);
      expect(total - solution.gap, `seed ${seed}`).toBeLessThanOrEqual(expected + NEAR);
      if (solution.proof !== 'exact') continue;
      proven++;
      expect(total, `seed ${seed}`).toBeLessThanOrEqual(expected + NEAR);
    }
    expect(proven).toBeGreaterThan(60);
  },
);
