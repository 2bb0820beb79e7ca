// Prices of stored energy prove a bound by themselves: right ones the optimum, wrong ones less, none too much.
import { checkBound, type DispatchProblem, optimalDispatch, storedPrices } from '@duskbank/core/dispatch';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { loadSolver, solveProgram } from '../../reference/optimum/linear-program.ts';
import { type PriceKind, randomProblem, seeded } from '../../reference/optimum/problems.ts';

const SEED = 20_260_101;
const CONVEX: PriceKind[] = ['window', 'tiered-window', 'volatile', 'net-metered'];
const scaled = (cost: number) => Math.max(1, Math.abs(cost));
const anyProblem = (kinds: readonly PriceKind[]) =>
  fc
    .record({
      seed: fc.integer({ min: 1, max: 1e6 }),
      n: fc.integer({ min: 1, max: 96 }),
      kind: fc.constantFrom(...kinds),
    })
    .map(({ seed, n, kind }) => randomProblem(seed, n, kind));
const unserved = (solution: { unservedKwh: Float64Array }) => solution.unservedKwh.some((kwh) => kwh > 0);

describe('the certificate of a bound', () => {
  it('proves the optimum from the prices of its schedule', () => {
    let proven = 0;
    fc.assert(
      fc.property(anyProblem(CONVEX), (problem) => {
        const solution = optimalDispatch(problem);
        if (unserved(solution)) return;
        const { holds, provenCost } = checkBound(problem, solution.cost, storedPrices(problem, solution));
        expect(solution.cost - provenCost).toBeLessThanOrEqual(1e-9 * scaled(solution.cost));
        expect(holds).toBe(true);
        proven++;
      }),
      { seed: SEED, numRuns: 400 },
    );
    expect(proven).toBeGreaterThan(300);
  });

  it('refuses a bound that is too high, whatever the prices', () => {
    fc.assert(
      fc.property(
        anyProblem([...CONVEX, 'negative']),
        fc.integer(),
        fc.double({ min: 0, max: 2, noNaN: true }),
        (problem, seed, wide) => {
          const solution = optimalDispatch(problem);
          if (unserved(solution)) return;
          const random = seeded(seed);
          const prices = storedPrices(problem, solution).map((price) => price + wide * (random() - 0.5));
          const tooHigh = solution.cost + 1e-6 * scaled(solution.cost);
          expect(checkBound(problem, tooHigh, prices).holds).toBe(false);
          expect(checkBound(problem, solution.cost, prices).provenCost).toBeLessThanOrEqual(
            solution.cost + 1e-9 * scaled(solution.cost),
          );
        },
      ),
      { seed: SEED, numRuns: 400 },
    );
  });

  it('proves less from prices that were tampered with, and refuses the optimum then', () => {
    // A kWh costs 0.10 in the first hour and saves 0.50 in the second; a store of 2 kWh, 1 kWh of load: 0.1 / 0.81.
    const problem: DispatchProblem = {
      stepHours: 1,
      netLoadKwh: Float64Array.of(0, 1),
      importPricePerKwh: Float64Array.of(0.1, 0.5),
      exportPricePerKwh: Float64Array.of(0, 0),
      capacityKwh: 2,
      floorKwh: 0,
      initialKwh: 0,
      chargeLimitKw: 2,
      dischargeLimitKw: 2,
      chargeEfficiency: 0.9,
      dischargeEfficiency: 0.9,
    };
    const solution = optimalDispatch(problem);
    const prices = storedPrices(problem, solution);
    expect(prices[0]).toBeCloseTo(0.1 / 0.9, 12);
    expect(checkBound(problem, 0.1 / 0.81, prices)).toEqual({
      provenCost: expect.closeTo(0.1 / 0.81, 12),
      holds: true,
    });
    for (const factor of [0.5, 0.9, 1.1, 2]) {
      const wrong = prices.map((price) => price * factor);
      const { holds, provenCost } = checkBound(problem, 0.1 / 0.81, wrong);
      expect(holds).toBe(false);
      expect(provenCost).toBeLessThan(0.1 / 0.81 - 1e-3);
    }
  });

  it('proves no more than an outside solver finds', async () => {
    const highs = await loadSolver();
    let checked = 0;
    for (let seed = 1; seed <= 60; seed++) {
      const problem = randomProblem(seed, 12 + (seed % 40), CONVEX[seed % 4]!);
      const solution = optimalDispatch(problem);
      if (unserved(solution)) continue;
      const best = solveProgram(highs, problem, { unservedPerKwh: 200 });
      const random = seeded(seed);
      const prices = storedPrices(problem, solution);
      expect(Math.abs(checkBound(problem, best, prices).provenCost - best), `seed ${seed}`).toBeLessThanOrEqual(
        1e-8 * scaled(best),
      );
      const wrong = prices.map((price) => price * (0.5 + random()));
      expect(checkBound(problem, best, wrong).provenCost, `seed ${seed}`).toBeLessThanOrEqual(
        best + 1e-8 * scaled(best),
      );
      checked++;
    }
    expect(checked).toBeGreaterThan(40);
  }, 120_000);
});
