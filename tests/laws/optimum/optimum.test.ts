import { type DispatchProblem, makeScratch, optimalDispatch } from '@duskbank/core/dispatch';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { checkSchedule } from '../../reference/optimum/check-schedule.ts';
import { type PriceKind, randomProblem } from '../../reference/optimum/problems.ts';

const SEED = 20_260_101;
const KINDS: PriceKind[] = ['window', 'tiered-window', 'volatile', 'net-metered', 'negative'];
const anyProblem = fc
  .record({
    seed: fc.integer({ min: 1, max: 1e6 }),
    n: fc.integer({ min: 1, max: 96 }),
    kind: fc.constantFrom(...KINDS),
  })
  .map(({ seed, n, kind }) => randomProblem(seed, n, kind));
const plain = fc
  .record({ seed: fc.integer({ min: 1, max: 1e6 }), kind: fc.constantFrom(...KINDS.slice(0, 4)) })
  .map(({ seed, kind }) => randomProblem(seed, 96, kind, true));

describe('the best schedule', () => {
  it('is feasible, and costs what its flows cost', () => {
    fc.assert(
      fc.property(anyProblem, (problem) => {
        const solution = optimalDispatch(problem);
        const { faults, cost } = checkSchedule(problem, solution);
        expect(faults).toEqual([]);
        expect(Math.abs(cost - solution.cost)).toBeLessThanOrEqual(1e-9 * Math.max(1, Math.abs(cost)));
        expect(solution.gap).toBeGreaterThanOrEqual(0);
        if (solution.proof === 'exact') expect(solution.gap).toBe(0);
      }),
      { seed: SEED, numRuns: 400 },
    );
  });

  it('is never dearer with a wider limit, a larger store or a lower floor', () => {
    fc.assert(
      fc.property(plain, fc.double({ min: 1, max: 3, noNaN: true }), (problem, factor) => {
        const base = optimalDispatch(problem).cost;
        const wider: Partial<DispatchProblem>[] = [
          { capacityKwh: (problem.capacityKwh as number) * factor },
          { chargeLimitKw: (problem.chargeLimitKw as number) * factor },
          { dischargeLimitKw: (problem.dischargeLimitKw as number) * factor },
        ];
        for (const change of wider)
          expect(optimalDispatch({ ...problem, ...change }).cost).toBeLessThanOrEqual(
            base + 1e-9 * Math.max(1, Math.abs(base)),
          );
        const narrower: Partial<DispatchProblem>[] = [
          { gridCharging: false },
          { batteryExport: false },
          { wearPerKwh: 0.05 },
          { servedLoadLimitKwh: problem.netLoadKwh.map((kwh) => Math.max(0, kwh) * 0.5) },
        ];
        for (const change of narrower)
          expect(optimalDispatch({ ...problem, ...change }).cost).toBeGreaterThanOrEqual(
            base - 1e-9 * Math.max(1, Math.abs(base)),
          );
      }),
      { seed: SEED, numRuns: 150 },
    );
  });

  it('has one more kWh worth between the marginal values before and after it', () => {
    fc.assert(
      fc.property(plain, fc.double({ min: 0, max: 0.9, noNaN: true }), (problem, share) => {
        const room = (problem.capacityKwh as number) - (problem.floorKwh as number);
        const from = (problem.floorKwh as number) + share * room;
        const step = 0.05 * room;
        const before = optimalDispatch({ ...problem, initialKwh: from });
        const after = optimalDispatch({ ...problem, initialKwh: from + step });
        const slope = (before.cost - after.cost) / step;
        // 1e-8: difference of two costs of some tens over some tenths of a kWh
        expect(slope).toBeLessThanOrEqual(before.marginalValuePerKwh[0]! + 1e-8);
        expect(slope).toBeGreaterThanOrEqual(after.marginalValuePerKwh[0]! - 1e-8);
      }),
      { seed: SEED, numRuns: 200 },
    );
  });
});

/** Cheapest of all schedules that move a share of the limits in each step: a search that knows nothing of slopes. */
function bruteForce(p: DispatchProblem): number {
  const n = p.netLoadKwh.length;
  const at = (value: number | Float64Array, i: number) => (typeof value === 'number' ? value : value[i]!);
  const shares = [-1, -0.6, -0.3, 0, 0.3, 0.6, 1];
  let best = Number.POSITIVE_INFINITY;
  const walk = (i: number, soc: number, cost: number) => {
    if (i === n) {
      best = Math.min(best, cost);
      return;
    }
    for (const share of shares) {
      const c = share > 0 ? share * at(p.chargeLimitKw, i) * p.stepHours : 0;
      const d = share < 0 ? -share * at(p.dischargeLimitKw, i) * p.stepHours : 0;
      const end = soc + c * p.chargeEfficiency - d / p.dischargeEfficiency;
      if (end < at(p.floorKwh, i) || end > at(p.capacityKwh, i)) continue;
      let flow = p.netLoadKwh[i]! + c - d;
      const price = flow > 0 ? p.importPricePerKwh[i]! : p.exportPricePerKwh[i]!;
      if (p.curtailment && flow < 0 && price < 0) flow = Math.min(0, flow + Math.max(0, -p.netLoadKwh[i]!));
      walk(i + 1, end, cost + flow * price);
    }
  };
  walk(0, p.initialKwh, 0);
  return best;
}

it('work arrays that served other problems change nothing', () => {
  fc.assert(
    fc.property(fc.array(anyProblem, { minLength: 2, maxLength: 4 }), (problems) => {
      const scratch = makeScratch();
      for (const problem of problems) expect(optimalDispatch(problem, scratch)).toEqual(optimalDispatch(problem));
    }),
    { numRuns: 60 },
  );
});

describe('brute force on tiny problems', () => {
  it('never finds a schedule below the proven bound, whatever the prices', () => {
    const price = fc.double({ min: -0.4, max: 0.8, noNaN: true });
    const tiny = fc.record({
      netLoadKwh: fc.array(fc.double({ min: -3, max: 3, noNaN: true }), { minLength: 5, maxLength: 5 }),
      importPrice: fc.array(price, { minLength: 5, maxLength: 5 }),
      exportPrice: fc.array(price, { minLength: 5, maxLength: 5 }),
      efficiency: fc.constantFrom(1, 0.9, 0.7),
      curtailment: fc.boolean(),
      initial: fc.double({ min: 0, max: 4, noNaN: true }),
    });
    let gaps = 0;
    fc.assert(
      fc.property(tiny, (t) => {
        const problem: DispatchProblem = {
          stepHours: 1,
          netLoadKwh: Float64Array.from(t.netLoadKwh),
          importPricePerKwh: Float64Array.from(t.importPrice),
          exportPricePerKwh: Float64Array.from(t.exportPrice),
          capacityKwh: 4,
          floorKwh: 0,
          chargeLimitKw: 2,
          dischargeLimitKw: 2.5,
          initialKwh: t.initial,
          chargeEfficiency: t.efficiency,
          dischargeEfficiency: t.efficiency,
          curtailment: t.curtailment,
        };
        const { cost, gap, proof } = optimalDispatch(problem);
        if (proof === 'gap') gaps++;
        expect(bruteForce(problem)).toBeGreaterThanOrEqual(cost - gap - 1e-9);
      }),
      { seed: SEED, numRuns: 200 },
    );
    expect(gaps).toBeGreaterThan(50);
  });
});
