import { billTotal, compileTariff, marginalPrices } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { randomFlows, tariffFixtures } from '../../support/tariff-fixtures.ts';

describe('one more kWh in an interval changes the unrounded bill by the marginal price', () => {
  it.each(tariffFixtures().map((fixture) => [fixture.name, fixture] as const))('%s', (_, fixture) => {
    const { tariff, axis, options } = fixture;
    const compiled = compileTariff(tariff, axis, options);
    const steps = compiled.terms.some((term) => term.kind === 'demand' && term.steps !== undefined);
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 2 ** 31 }),
        fc.nat(axis.intervals - 1),
        fc.constantFrom('import', 'export', 'peak'),
        (seed, at, kind) => {
          const flows = randomFlows(seed, axis.intervals, axis.stepMinutes);
          // The peak of the data now and then: demand charges have their slope there.
          const i = kind === 'peak' ? flows.importKwh.indexOf(Math.max(...flows.importKwh)) : at;
          const epsilonKwh = 1e-4;
          const before = marginalPrices(compiled, flows);
          const total = billTotal(compiled, flows);
          const flow = kind === 'export' ? flows.exportKwh : flows.importKwh;
          flow[i] = flow[i]! + epsilonKwh;
          const after = marginalPrices(compiled, flows);
          const slope = (billTotal(compiled, flows) - total) / epsilonKwh;
          const [from, to] =
            kind === 'export'
              ? [-before.exportPerKwh[i]!, -after.exportPerKwh[i]!]
              : [before.importPerKwh[i]!, after.importPerKwh[i]!];
          // A capacity step has no slope at its jump: 1e-4 kWh cross one in hardly any draw, and then by a fee's size.
          if (steps && Math.abs(slope) > 1e4) return;
          // The difference of two sums, each right to some 1e-13 of itself, divided by 1e-4.
          const slack = 1e-8 + 3e-9 * Math.abs(total);
          expect(slope).toBeGreaterThanOrEqual(Math.min(from, to) - slack);
          expect(slope).toBeLessThanOrEqual(Math.max(from, to) + slack);
        },
      ),
      { numRuns: 25, seed: 7 },
    );
  });
});
