// The fast ways of the optimum, each beside its plain twin.
import { type DispatchProblem, optimalDispatch } from '@duskbank/core/dispatch';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { planBackward } from '../../../packages/core/src/dispatch/optimum/backward.ts';
import { costToGo } from '../../../packages/core/src/dispatch/optimum/curve.ts';
import { solveDecaying } from '../../../packages/core/src/dispatch/optimum/decaying/solve.ts';
import { followForward, followStepwise } from '../../../packages/core/src/dispatch/optimum/forward.ts';
import { isFollowedPlainly } from '../../../packages/core/src/dispatch/optimum/forward-plain.ts';
import { toSteps } from '../../../packages/core/src/dispatch/optimum/problem.ts';
import { makeReachable } from '../../../packages/core/src/dispatch/optimum/reachable.ts';
import { type PriceKind, randomProblem } from '../../reference/optimum/problems.ts';

const SEED = 20_260_101;
const KINDS: PriceKind[] = ['window', 'tiered-window', 'volatile', 'net-metered'];
const FLOWS = ['chargeKwh', 'dischargeKwh', 'socKwh', 'curtailedKwh', 'unservedKwh', 'marginalValuePerKwh'] as const;
const apartBy = (a: Float64Array, b: Float64Array) => a.reduce((most, x, i) => Math.max(most, Math.abs(x - b[i]!)), 0);

/** Prices that hold for several steps, so that there are runs. */
const anyProblem = fc
  .record({
    seed: fc.integer({ min: 1, max: 1e6 }),
    kind: fc.constantFrom(...KINDS),
    every: fc.integer({ min: 1, max: 5 }),
    gridCharging: fc.boolean(),
    batteryExport: fc.boolean(),
    wearPerKwh: fc.constantFrom(0, 0.04),
    plain: fc.boolean(),
  })
  .map(({ seed, kind, every, gridCharging, batteryExport, wearPerKwh, plain }): DispatchProblem => {
    const random = randomProblem(seed, 120, kind, plain);
    const hold = (prices: Float64Array) => prices.map((_, i) => prices[i - (i % every)]!);
    const prices = {
      importPricePerKwh: hold(random.importPricePerKwh),
      exportPricePerKwh: hold(random.exportPricePerKwh),
    };
    return plain ? { ...random, ...prices, gridCharging, batteryExport, wearPerKwh } : { ...random, ...prices };
  });

describe('a plain plan, followed run by run', () => {
  it('is what it is step by step', () => {
    let followed = 0;
    fc.assert(
      fc.property(anyProblem, (problem) => {
        const steps = toSteps(problem);
        makeReachable(steps);
        const plan = planBackward(steps);
        if (!isFollowedPlainly(steps, plan)) return;
        followed++;
        const fast = followForward(steps, plan);
        const plain = followStepwise(steps, plan, undefined);
        // What a step alone gives is added up in another order: the last digit.
        expect(Math.abs(fast.cost - plain.cost)).toBeLessThanOrEqual(1e-13 * Math.max(1, Math.abs(plain.cost)));
        for (const flow of FLOWS) expect(apartBy(fast[flow], plain[flow])).toBeLessThanOrEqual(1e-13);
      }),
      { seed: SEED, numRuns: 600 },
    );
    expect(followed).toBeGreaterThan(200);
  });
});

describe('decay, kept as one factor for all segments', () => {
  it('comes to what it comes to segment by segment', () => {
    let moved = 0;
    fc.assert(
      fc.property(anyProblem, fc.constantFrom(1e-6, 1e-3, 0.3), (random, selfDischargePerStep) => {
        const floor = typeof random.floorKwh === 'number' ? random.floorKwh : random.floorKwh[0]!;
        const problem = { ...random, floorKwh: floor, selfDischargePerStep };
        const together = optimalDispatch(problem);
        // A floor that rises at all, by less than anyone could tell, has each segment decay for itself.
        const floorKwh = new Float64Array(120).fill(floor);
        floorKwh[119] = floor > 0 ? floor * (1 + Number.EPSILON) : Number.MIN_VALUE;
        const apart = optimalDispatch({ ...problem, floorKwh });
        expect(Math.abs(together.cost - apart.cost)).toBeLessThanOrEqual(1e-10 * Math.max(1, Math.abs(apart.cost)));
        expect(together.proof).toBe(apart.proof);
        expect(apartBy(together.socKwh, apart.socKwh)).toBeLessThanOrEqual(1e-9);
        if (together.cost !== apart.cost) moved++;
      }),
      { seed: SEED, numRuns: 300 },
    );
    // Else the two went the same way.
    expect(moved).toBeGreaterThan(50);
  });
});

describe('a store that decays, planned and followed by runs', () => {
  it('is what the list of segments makes of it, step by step', () => {
    let solved = 0;
    let alone = 0;
    fc.assert(
      fc.property(
        anyProblem,
        fc.constantFrom(1e-6, 1e-4, 3e-3),
        fc.constantFrom(1, 0.02),
        (random, selfDischargePerStep, scale) => {
          // A small load or surplus beside what a full store loses.
          const netLoadKwh = random.netLoadKwh.map((net, i) => (i % 7 === 0 ? scale * net : net));
          const problem = { ...random, netLoadKwh, floorKwh: 0.5, capacityKwh: 9, initialKwh: 2, selfDischargePerStep };
          const steps = toSteps(problem);
          makeReachable(steps);
          const fast = solveDecaying(steps);
          if (fast === undefined) return;
          solved++;
          const lost = selfDischargePerStep * 8.5;
          if (netLoadKwh.some((net) => net < 0 && -net * steps.chargeEfficiency < lost)) alone++;
          const plan = planBackward(steps);
          const plain = followStepwise(steps, plan, undefined);
          expect(plan.convex).toBe(true);
          expect(Math.abs(fast.cost - plain.cost)).toBeLessThanOrEqual(1e-11 * Math.max(1, Math.abs(plain.cost)));
          for (const flow of FLOWS) expect(apartBy(fast[flow], plain[flow]), flow).toBeLessThanOrEqual(1e-9);
        },
      ),
      { seed: SEED, numRuns: 1500 },
    );
    expect(solved).toBeGreaterThan(200);
    expect(alone).toBeGreaterThan(20);
  });
});

describe('runs of steps that end in a value handed on', () => {
  it('come to what steps come to, where that value begins below the floor of the last ones', () => {
    let told = 0;
    fc.assert(
      fc.property(anyProblem, fc.integer({ min: 90, max: 118 }), (random, from) => {
        const floorKwh = new Float64Array(120).fill(0.5).fill(4, from);
        const problem = { ...random, floorKwh, capacityKwh: 9, initialKwh: 2, selfDischargePerStep: 0 };
        const lower = toSteps({ ...problem, floorKwh: 0.5 });
        makeReachable(lower);
        const band = { fromLowKwh: 0.5, fromHighKwh: 9 };
        const after = planBackward(lower, band).start;
        const [runs, alone] = [problem, { ...problem, clippedKwh: new Float64Array(120) }].map((one) => {
          const steps = toSteps(one);
          makeReachable(steps);
          return { plan: planBackward(steps, { ...band, after }), steps };
        });
        if (!runs!.steps.plain) return;
        expect(alone!.steps.plain).toBe(false);
        for (let kwh = 0.5; kwh <= 9; kwh += 0.25) {
          const cost = costToGo(alone!.plan.start, kwh);
          expect(Math.abs(costToGo(runs!.plan.start, kwh) - cost)).toBeLessThanOrEqual(
            1e-9 * Math.max(1, Math.abs(cost)),
          );
        }
        if (runs!.plan.runs < alone!.plan.runs) told++;
      }),
      { seed: SEED, numRuns: 400 },
    );
    expect(told).toBeGreaterThan(100);
  });
});
