import { optimalDispatch } from '@duskbank/core/dispatch';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type PriceKind, randomProblem } from '../../reference/optimum/problems.ts';

const SEED = 20_260_101;
const KINDS: PriceKind[] = ['window', 'tiered-window', 'volatile', 'net-metered'];

describe('runs of like steps, planned as one', () => {
  it('come to what the same steps come to, planned one by one', () => {
    let shared = 0;
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1e6 }),
        fc.constantFrom(...KINDS),
        fc.integer({ min: 1, max: 4 }),
        fc.boolean(),
        fc.boolean(),
        (seed, kind, every, gridCharging, batteryExport) => {
          const random = randomProblem(seed, 120, kind, true);
          // Prices that hold for several steps, so that there are runs at all; limits out of the way.
          const hold = (prices: Float64Array) => prices.map((_, i) => prices[i - (i % every)]!);
          const problem = {
            ...random,
            importPricePerKwh: hold(random.importPricePerKwh),
            exportPricePerKwh: hold(random.exportPricePerKwh),
            gridCharging,
            batteryExport,
          };
          // A band that is never the same twice keeps every step to itself.
          const capacityKwh = new Float64Array(120).fill(problem.capacityKwh as number);
          for (let i = 0; i < 120; i += 2) capacityKwh[i]! *= 1 + 1e-13;
          const together = optimalDispatch(problem);
          const apart = optimalDispatch({ ...problem, capacityKwh });
          const scale = Math.max(1, Math.abs(apart.cost));
          expect(Math.abs(together.cost - apart.cost)).toBeLessThanOrEqual(1e-10 * scale);
          for (let i = 0; i < 120; i++) {
            expect(Math.abs(together.socKwh[i]! - apart.socKwh[i]!)).toBeLessThanOrEqual(1e-9);
            expect(Math.abs(together.marginalValuePerKwh[i]! - apart.marginalValuePerKwh[i]!)).toBeLessThanOrEqual(
              1e-9,
            );
          }
          if (every > 1) shared++;
        },
      ),
      { seed: SEED, numRuns: 300 },
    );
    expect(shared).toBeGreaterThan(100);
  });
});
