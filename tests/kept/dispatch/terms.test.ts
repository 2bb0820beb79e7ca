// Kept answers: see tests/support/kept.ts.
import { bestInHindsight, optimalDispatch } from '@duskbank/core/dispatch';
import { type BillTerm, compileTariff, parseTariff, type Tariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { randomProblem } from '../../reference/optimum/problems.ts';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';
import { kept, keptEach } from '../../support/kept.ts';
import { seedsFrom } from '../../support/kept-sites.ts';
import { tariffFixtures } from '../../support/tariff-fixtures.ts';

const PLANTS = [
  plainPlant({ batteryExport: true, startKwh: 2 }),
  plainPlant({ gridCharging: false, floorKwh: 0.9, standbyW: 15 }),
  plainPlant({ coupling: 'dc', capacityKwh: 11, inverterKw: 4 }),
];

/** Every kind of bill term, with what nothing but a minimum, a class or netting does to the bound. */
test.each(tariffFixtures().map((fixture, k) => [fixture.name, fixture, k] as const))(
  'the cheapest run in hindsight on %s',
  async (_name, { tariff, axis, options }, k) => {
    const { startEpochMs, zone } = axis;
    const shape = { days: 7, stepMinutes: 60, startEpochMs, zone, solarKw: (k % 3) * 3 };
    const document = { ...tariff.document, minimumBill: { amount: 1.4, per: 'day' } };
    const bestOn = (own: Tariff) => () =>
      bestInHindsight(
        seededHome(600 + k, shape, PLANTS[k % PLANTS.length]!, openService, (on) => compileTariff(own, on, options)),
      );
    const calls = { 'as it is': bestOn(tariff), 'with a minimum': () => bestOn(parseTariff(document))() };
    expect(await keptEach(calls)).toMatchSnapshot();
  },
);

/** Blocks of three stretches of time, and what is left at the end is worth something: schedules are mixed piece by piece. */
test.each(seedsFrom(1, 30))('problem %d of blocks one after the other, with worth at its end', (seed) => {
  const n = 36 + 3 * (seed % 5);
  const problem = { ...randomProblem(seed, n, 'window', true), finalValuePerKwh: 0.05 + 0.03 * (seed % 6) };
  const boughtKwh = problem.netLoadKwh.reduce((sum, kwh) => sum + Math.max(0, kwh), 0);
  const blocks: BillTerm = {
    name: 'blocks',
    kind: 'tier',
    groups: 3,
    period: Int32Array.of(0, 1, 2),
    convex: true,
    flow: 'import',
    group: Int32Array.from({ length: n }, (_, i) => Math.floor((3 * i) / n)),
    upToKwh: [0.25, 0.34, 0.4].map((share) => Float64Array.of(share * boughtKwh, Number.POSITIVE_INFINITY)),
    adderPerKwh: [0.2, 0.5, 0.9].map((adder) => Float64Array.of(0, adder)),
  };
  expect(kept({ ...optimalDispatch({ ...problem, terms: [blocks] }) })).toMatchSnapshot();
});
