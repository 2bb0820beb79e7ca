import type { Highs } from 'highs';
import { beforeAll, describe, expect, it } from 'vitest';
import { difference } from '../reference/optimum/difference.ts';
import { loadSolver } from '../reference/optimum/linear-program.ts';
import type { PriceKind } from '../reference/optimum/problems.ts';

// `NIGHTLY_SEED=20260801 pnpm nightly` looks where nobody has looked before; a failure names its seed.
const FIRST = Number(process.env.NIGHTLY_SEED ?? 100_000);
const KINDS: PriceKind[] = ['window', 'tiered-window', 'volatile', 'net-metered'];
let highs: Highs;
beforeAll(async () => {
  highs = await loadSolver();
});

describe('the exact optimum agrees with an outside solver', () => {
  it('on 4,000 problems of up to 672 steps', () => {
    for (let seed = FIRST; seed < FIRST + 4_000; seed++)
      expect(difference(highs, seed, 1 + ((seed * 7919) % 672), KINDS[seed % 4]!), `seed ${seed}`).toBeLessThanOrEqual(
        1e-9,
      );
  }, 7_200_000);

  it('on 60 problems of up to 8,760 steps', () => {
    for (let seed = FIRST; seed < FIRST + 60; seed++)
      expect(
        difference(highs, seed, 672 + ((seed * 7919) % 8_089), KINDS[seed % 4]!),
        `seed ${seed}`,
      ).toBeLessThanOrEqual(1e-9);
  }, 7_200_000);

  it('on a year of 35,040 steps of each kind of price', () => {
    for (const [k, kind] of KINDS.entries())
      expect(difference(highs, FIRST + k, 35_040, kind), kind).toBeLessThanOrEqual(1e-9);
  }, 7_200_000);
});
