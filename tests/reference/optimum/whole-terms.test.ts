import { optimalDispatch } from '@duskbank/core/dispatch';
import { expect, it } from 'vitest';
import { checkSchedule } from './check-schedule.ts';
import { leastOfHalves, termProblem } from './whole-terms.ts';

/** Of sums of a few halves and tenths. */
const NEAR = 1e-6;
const LOTS = Array.from({ length: 20 }, (_, k) => k);

it.each(LOTS)(
  'parts of a bill beside prices, lot %d of 40: the cost is the bill, and nothing that was tried beats the bound',
  (lot) => {
    let proven = 0;
    for (let seed = 40 * lot; seed < 40 * (lot + 1); seed++) {
      const drawn = termProblem(seed);
      const { problem, bill, name } = drawn;
      const solution = optimalDispatch(problem);
      const at = `seed ${seed}: ${name}`;
      expect(checkSchedule(problem, solution).faults, at).toEqual([]);
      const meter = [...problem.netLoadKwh].map(
        (net, i) => net + solution.curtailedKwh[i]! + solution.chargeKwh[i]! - solution.dischargeKwh[i]!,
      );
      const wear = solution.dischargeKwh.reduce((sum, kwh) => sum + (problem.wearPerKwh ?? 0) * kwh, 0);
      const least = leastOfHalves(drawn);
      expect(solution.cost, at).toBeCloseTo(bill(meter) + wear, 6);
      expect(solution.cost - solution.gap, at).toBeLessThanOrEqual(least + NEAR);
      if (solution.proof !== 'exact') continue;
      proven++;
      expect(solution.cost, at).toBeLessThanOrEqual(least + NEAR);
    }
    expect(proven).toBeGreaterThan(15);
  },
);
