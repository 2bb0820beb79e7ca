// Blocks over netted energy have no price a kWh that would bound them: what they come to at the least stands in the bound.
import { bestInHindsight, peakShave, runStrategy, selfConsumption, windowFill } from '@duskbank/core/dispatch';
import { billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { billedFlows } from '../../../packages/core/src/dispatch/billed.ts';
import type { NettingTerm } from '../../../packages/core/src/tariff/terms/netting.ts';
import { type TierTerm, tierKind } from '../../../packages/core/src/tariff/terms/tier.ts';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';

/** Three intervals: two in the first group of netting, none in the second, whose surplus it takes; one beside them. */
const netting: NettingTerm = {
  kind: 'netting',
  name: 'Net metering',
  group: Int32Array.of(0, -1, 0),
  groups: 2,
  period: Int32Array.of(0, 1),
  convex: true,
  pricePerKwh: Float64Array.of(0.2, 0.2),
  next: Int32Array.of(1, -1),
  surplusPerKwh: Float64Array.of(0, 0),
  carriedInKwh: Float64Array.of(0, 0),
};
const tierOf = (upToKwh: readonly number[], adders: readonly number[]): TierTerm => ({
  kind: 'tier',
  name: 'Blocks',
  flow: 'netted',
  // The bill counts the blocks by the groups of netting, the first group in the second of blocks.
  netting: { term: 0, tierGroup: Int32Array.of(1, 0) },
  group: Int32Array.of(-1, -1, -1),
  groups: 2,
  period: Int32Array.of(1, 0),
  convex: false,
  upToKwh: [Float64Array.of(Number.POSITIVE_INFINITY), Float64Array.of(...upToKwh, Number.POSITIVE_INFINITY)],
  adderPerKwh: [Float64Array.of(0), Float64Array.of(0, ...adders)],
});
const boundOf = (tier: TierTerm, mostKwh: number, asked?: (group: Int32Array) => void) =>
  tierKind.bound(tier, {
    stepHours: 1,
    terms: [netting, tier],
    rangeKwh: (_, group, groups) => {
      asked?.(group);
      return { leastKwh: new Float64Array(groups), mostKwh: Float64Array.of(0, mostKwh) };
    },
    mostImportKwh: () => mostKwh,
  });

it('by hand: falling blocks come to least at the most that can be bought, rising ones at nothing', () => {
  const falling = tierOf([10, 30], [-0.05, -0.08]);
  // 20 kWh of the second block and 10 of the third take off 1.00 and 0.80.
  expect(boundOf(falling, 40).constant).toBeCloseTo(-1.8, 12);
  expect(boundOf(falling, 15).constant).toBeCloseTo(-0.25, 12);
  expect(boundOf(falling, 10).constant).toBeCloseTo(0, 12);
  expect(boundOf(tierOf([10], [0.05]), 40).constant).toBe(0);
  // First cheaper, then dearer: least where the second block ends.
  expect(boundOf(tierOf([10, 30], [-0.05, 0.2]), 40).constant).toBeCloseTo(-1, 12);
});

it('asks what the intervals of each group of blocks can buy', () => {
  const asked: number[][] = [];
  boundOf(tierOf([10], [-0.05]), 40, (group) => asked.push([...group]));
  expect(asked).toEqual([[1, -1, 1]]);
});

it('is the least over every amount that can be bought', () => {
  fc.assert(
    fc.property(
      fc.array(fc.double({ min: 0.5, max: 20, noNaN: true }), { minLength: 1, maxLength: 4 }),
      fc.array(fc.double({ min: -0.3, max: 0.3, noNaN: true }), { minLength: 4, maxLength: 4 }),
      fc.double({ min: 0.1, max: 80, noNaN: true }),
      (widths, adders, mostKwh) => {
        const bounds = widths.map((_, k) => widths.slice(0, k + 1).reduce((sum, width) => sum + width, 0));
        const tier = tierOf(bounds, adders.slice(0, widths.length));
        const costs = [...bounds.filter((kwh) => kwh < mostKwh), 0, mostKwh].map((kwh) => {
          let cost = 0;
          for (const [k, bound] of bounds.entries())
            cost += adders[k]! * Math.max(0, Math.min(kwh, bounds[k + 1] ?? Number.POSITIVE_INFINITY) - bound);
          return cost;
        });
        expect(boundOf(tier, mostKwh).constant).toBeCloseTo(Math.min(...costs), 9);
      },
    ),
    { numRuns: 300 },
  );
});

it('of a whole bill no rule goes below the bound', () => {
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Falling, netted',
    currency: 'USD',
    energy: [{ name: 'Energy', blocks: [{ upToKwh: 40, pricePerKwh: 0.3 }, { pricePerKwh: 0.08 }] }],
    export: { kind: 'net-metering', within: 'period', carry: 'kwh', trueUpMonth: 12, surplusPerKwh: 0.02 },
  });
  const shape = { days: 10, stepMinutes: 60, startEpochMs: Date.UTC(2026, 0, 5, 7), zone: 'America/Denver' };
  for (const solarKw of [0, 2, 6]) {
    const home = seededHome(5, { ...shape, solarKw }, plainPlant(), openService, (axis) => compileTariff(tariff, axis));
    const best = bestInHindsight(home);
    for (const strategy of [selfConsumption, windowFill, peakShave()]) {
      const run = runStrategy(strategy, home);
      expect(billTotal(home.tariff, billedFlows(home, run.flows)), `${solarKw}`).toBeGreaterThanOrEqual(
        best.boundTotal - 1e-7,
      );
    }
  }
});
