// Kept answers: see tests/support/kept.ts.
import {
  bestInHindsight,
  homeOnAxis,
  homeProblem,
  makeScratch,
  optimalDispatch,
  storedValue,
} from '@duskbank/core/dispatch';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { type PriceKind, randomProblem } from '../../reference/optimum/problems.ts';
import { anyHome } from '../../support/homes.ts';
import { kept, keptOf } from '../../support/kept.ts';
import { KEPT_HOMES } from '../../support/kept-homes.ts';
import { seedsFrom } from '../../support/kept-sites.ts';

const KINDS: readonly PriceKind[] = ['window', 'tiered-window', 'volatile', 'net-metered', 'negative'];
const scratch = makeScratch();

test.each(seedsFrom(1, 150))('problem %d of any kind', (seed) => {
  const problem = randomProblem(seed, 6 + ((seed * 7) % 90), KINDS[seed % KINDS.length]!);
  const solution = optimalDispatch(problem, seed % 2 === 0 ? scratch : undefined);
  const at = Math.floor(problem.netLoadKwh.length / 2);
  const middleKwh = at === 0 ? 0 : solution.socKwh[at - 1]!;
  expect(
    kept({ solution: { ...solution }, value: storedValue(problem, at, middleKwh) }, seed <= 20 ? 2 : 1),
  ).toMatchSnapshot();
});

test.each(seedsFrom(1, 40))('problem %d of a peak that is charged where importing may be paid', (seed) => {
  const problem = randomProblem(seed, 12 + seed, 'negative');
  const n = problem.netLoadKwh.length;
  const half = Int32Array.from({ length: n }, (_, i) => (seed % 2 === 0 && i > n / 2 ? 1 : 0));
  const demandCharges = [{ pricePerKw: 0.02 * (1 + (seed % 5)), period: half, averagingSteps: 1, soFarKw: 0.2 }];
  expect(kept({ ...optimalDispatch({ ...problem, demandCharges }) })).toMatchSnapshot();
});

test.each(KEPT_HOMES)('the cheapest run in hindsight of %s', (_name, home) => {
  const onAxis = homeOnAxis(home);
  expect(
    kept(
      {
        best: { ...bestInHindsight(home, { onAxis }) },
        'with wear': bestInHindsight(home, { onAxis, wearPerKwh: 0.06 }),
        problem: homeProblem(onAxis, home.tariff),
      },
      2,
    ),
  ).toMatchSnapshot();
});

test.each(fc.sample(anyHome, { seed: 20_260_606, numRuns: 40 }).map((home, k) => [k, home] as const))(
  'the cheapest run in hindsight of home %d of any kind',
  async (_k, home) => {
    expect(await keptOf(() => ({ ...bestInHindsight(home) }))).toMatchSnapshot();
  },
);
