import { type DispatchProblem, optimalDispatch, storedValue } from '@duskbank/core/dispatch';
import type { BillTerm } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type PriceKind, randomProblem } from '../../reference/optimum/problems.ts';

const SEED = 20_260_101;
const base = { name: 'term', groups: 1, period: Int32Array.of(0), convex: true };

/** Blocks of one group that holds every interval: the first `upToKwh` at the price, more of it dearer by `adder`. */
function blocks(n: number, upToKwh: number, adder: number): BillTerm {
  return {
    ...base,
    kind: 'tier',
    flow: 'import',
    group: new Int32Array(n),
    upToKwh: [Float64Array.of(upToKwh, Number.POSITIVE_INFINITY)],
    adderPerKwh: [Float64Array.of(0, adder)],
  };
}

function demand(n: number, pricePerKw: number): BillTerm {
  return {
    ...base,
    kind: 'demand',
    group: new Int32Array(n),
    pricePerKw: Float64Array.of(pricePerKw),
    averagingSteps: 1,
    phaseSteps: 0,
    highestDays: 1,
    scale: 1,
    minimumKw: Float64Array.of(0),
  };
}

const twoHours: DispatchProblem = {
  stepHours: 1,
  netLoadKwh: Float64Array.of(1, 2),
  importPricePerKwh: Float64Array.of(0.1, 0.3),
  exportPricePerKwh: new Float64Array(2),
  capacityKwh: 4,
  floorKwh: 0,
  chargeLimitKw: 4,
  dischargeLimitKw: 4,
  initialKwh: 0,
  chargeEfficiency: 0.8,
  dischargeEfficiency: 1,
};

describe('terms of a bill in a dispatch problem', () => {
  it('counts what is left above the last floor beside a term, as without one (by hand)', () => {
    // 4 kWh bought at 0.10 store 3.2 kWh: 2 of them carry the load at 0.30, 1.2 are left, 0.2 above the floor at 0.20 each.
    const problem = { ...twoHours, floorKwh: Float64Array.of(0, 1), finalValuePerKwh: 0.2 };
    expect(optimalDispatch(problem).cost).toBeCloseTo(0.1 + 0.4 - 0.04, 12);
    // Of the 5 kWh bought two are dearer by 0.02, and worth it all the same.
    expect(optimalDispatch({ ...problem, terms: [blocks(2, 3, 0.02)] }).cost).toBeCloseTo(0.1 + 0.4 - 0.04 + 0.04, 9);
  });

  it('a second block that makes losses dear stops the trade (by hand)', () => {
    // Two kWh for later cost 2.5 × 0.10 now in place of 2 × 0.30 then, and half a kWh more in all.
    expect(optimalDispatch(twoHours).cost).toBeCloseTo(0.35, 12);
    // Blocks end at 3 kWh: without trading 3 kWh are bought, trading adds 0.5 kWh at 0.90 more: 0.45 > 0.35 saved.
    const solution = optimalDispatch({ ...twoHours, terms: [blocks(2, 3, 0.9)] });
    expect(solution.cost).toBeCloseTo(0.7, 9);
    expect(solution.cost - solution.gap).toBeLessThanOrEqual(0.7 + 1e-12);
    expect(solution.chargeKwh[0]).toBeCloseTo(0, 6);
    // Blocks end at 3.25 kWh: one kWh traded, 1.25 bought for it, costs no dearer block yet. No single price a block
    // leads there, so that the schedule may miss it; the bound doesn't.
    const part = optimalDispatch({ ...twoHours, terms: [blocks(2, 3.25, 0.9)] });
    const best = 0.1 * 2.25 + 0.3 * 1;
    expect(part.cost - part.gap).toBeCloseTo(best, 6);
    expect(part.cost).toBeGreaterThanOrEqual(best - 1e-9);
    expect(part.cost).toBeLessThan(0.7);
  });

  it('a demand term is a demand charge', () => {
    for (let seed = 1; seed <= 30; seed++) {
      const problem = randomProblem(seed, 96, 'window', true);
      const asTerm = optimalDispatch({ ...problem, terms: [demand(96, 3)] });
      const asCharge = optimalDispatch({ ...problem, demandCharges: [{ pricePerKw: 3, period: new Int32Array(96) }] });
      expect(asTerm.cost, `seed ${seed}`).toBeCloseTo(asCharge.cost, 7);
    }
  });

  it('highest days are counted from the first interval where no days are stated (by hand)', () => {
    const netLoadKwh = new Float64Array(48).fill(1);
    // Both on the first day: it counts with the higher one, the second day with 1 kW.
    netLoadKwh[5] = 9;
    netLoadKwh[23] = 10;
    const priced = { importPricePerKwh: new Float64Array(48), exportPricePerKwh: new Float64Array(48) };
    const still = { ...twoHours, ...priced, netLoadKwh, chargeLimitKw: 0, dischargeLimitKw: 0 };
    const terms = [{ ...demand(48, 3), highestDays: 2 }];
    expect(optimalDispatch({ ...still, terms }).cost).toBeCloseTo(3 * ((10 + 1) / 2), 12);
    const day = Int32Array.from({ length: 48 }, (_, i) => Math.floor(i / 12));
    expect(optimalDispatch({ ...still, terms, day }).cost).toBeCloseTo(3 * ((10 + 9) / 2), 12);
  });

  it('no schedule made without a look at the terms comes under the bound', () => {
    const kinds: PriceKind[] = ['window', 'tiered-window', 'volatile', 'net-metered'];
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1e6 }),
        fc.constantFrom(...kinds),
        fc.double({ min: 1, max: 60, noNaN: true }),
        fc.double({ min: -0.2, max: 0.5, noNaN: true }),
        (seed, kind, upToKwh, adder) => {
          const problem = randomProblem(seed, 72, kind, true);
          const tier: BillTerm = { ...blocks(72, upToKwh, adder), convex: adder >= 0 };
          const solution = optimalDispatch({ ...problem, terms: [tier] });
          const bound = solution.cost - solution.gap;
          expect(solution.gap).toBeGreaterThanOrEqual(0);
          for (const wearPerKwh of [0, 0.05, 10]) {
            const other = optimalDispatch({ ...problem, wearPerKwh });
            let imported = 0;
            let cost = 0;
            for (let i = 0; i < 72; i++) {
              const flow =
                problem.netLoadKwh[i]! +
                other.curtailedKwh[i]! -
                other.unservedKwh[i]! +
                other.chargeKwh[i]! -
                other.dischargeKwh[i]!;
              imported += Math.max(0, flow);
              cost += flow > 0 ? flow * problem.importPricePerKwh[i]! : flow * problem.exportPricePerKwh[i]!;
              cost += (problem.wearPerKwh ?? 0) * other.dischargeKwh[i]!;
            }
            const left = other.socKwh[71]! - (problem.floorKwh as number);
            cost += adder * Math.max(0, imported - upToKwh) - (problem.finalValuePerKwh ?? 0) * Math.max(0, left);
            expect(bound).toBeLessThanOrEqual(cost + 1e-9 * Math.max(1, Math.abs(cost)));
            if (solution.proof === 'exact')
              expect(solution.cost).toBeLessThanOrEqual(cost + 1e-8 * Math.max(1, Math.abs(cost)));
          }
        },
      ),
      { seed: SEED, numRuns: 200 },
    );
  });

  it('terms of another length are refused by name', () => {
    expect(() => optimalDispatch({ ...twoHours, terms: [blocks(3, 1, 1)] })).toThrow(/terms/);
  });
});

it('the value of stored energy comes with what is best in its own interval, not in the one after (by hand)', () => {
  // Two kWh bought at 0.10, 2.5 before losses, serve the second hour at 0.30; with 2 kWh stored there is nothing to buy.
  expect(storedValue(twoHours, 0, 0)).toMatchObject({ chargeKwh: expect.closeTo(2.5, 9), dischargeKwh: 0 });
  expect(storedValue(twoHours, 0, 2).chargeKwh).toBeCloseTo(0, 9);
  expect(storedValue(twoHours, 1, 2)).toMatchObject({ chargeKwh: 0, dischargeKwh: expect.closeTo(2, 9) });
});
