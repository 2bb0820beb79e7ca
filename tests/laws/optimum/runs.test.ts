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
        fc.boolean(),
        (seed, kind, every, gridCharging, batteryExport, moving) => {
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
          // A floor and a capacity that move now and then: a run may neither begin nor end outside of its own band.
          const whole = problem.capacityKwh as number;
          const stretch = (i: number) => (moving ? Math.floor(i / 7) : 0);
          const floorKwh = Float64Array.from({ length: 120 }, (_, i) => whole * [0.1, 0.5, 0.3][stretch(i) % 3]!);
          const capacityKwh = Float64Array.from({ length: 120 }, (_, i) => whole * [1, 0.7][stretch(i) % 2]!);
          const together = optimalDispatch({ ...problem, floorKwh, capacityKwh: capacityKwh.slice() });
          // A band that is never the same twice keeps every step to itself.
          for (let i = 0; i < 120; i += 2) capacityKwh[i]! *= 1 + 1e-13;
          const apart = optimalDispatch({ ...problem, floorKwh, capacityKwh });
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
