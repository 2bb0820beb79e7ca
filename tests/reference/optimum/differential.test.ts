import { type DispatchProblem, optimalDispatch } from '@duskbank/core/dispatch';
import type { Highs } from 'highs';
import { beforeAll, describe, expect, it } from 'vitest';
import { checkSchedule } from './check-schedule.ts';
import { difference, UNSERVED } from './difference.ts';
import { loadSolver, solveProgram } from './linear-program.ts';
import { type PriceKind, randomProblem, seeded } from './problems.ts';

// Against HiGHS, an outside solver for linear and mixed-integer programs.
const KINDS: PriceKind[] = ['window', 'tiered-window', 'volatile', 'net-metered'];
let highs: Highs;
beforeAll(async () => {
  highs = await loadSolver();
});

describe('the exact optimum agrees with an outside linear-programming solver', () => {
  for (const kind of KINDS)
    it(`on 120 random problems of up to 672 steps, ${kind} prices`, () => {
      for (let seed = 1; seed <= 120; seed++) {
        const intervals = 24 + ((seed * 97) % 649);
        expect(difference(highs, seed, intervals, kind), `seed ${seed}, ${intervals} steps`).toBeLessThanOrEqual(1e-9);
      }
    }, 300_000);

  it('on 19 random problems of up to 8,760 steps', () => {
    for (let seed = 1001; seed <= 1019; seed++) {
      const intervals = 1_460 + (seed - 1001) * 405 + (seed === 1019 ? 10 : 0);
      expect(difference(highs, seed, intervals, KINDS[seed % 4]!), `seed ${seed}`).toBeLessThanOrEqual(1e-9);
    }
  }, 300_000);

  it('on one year of 35,040 steps', () => {
    expect(difference(highs, 2001, 35_040, 'window')).toBeLessThanOrEqual(1e-9);
  }, 300_000);
});

describe('with netting', () => {
  const RULES = ['settled', 'carried', 'one window'] as const;
  it.each(RULES)(
    'agrees to 1e-7 on 30 random problems of four periods, %s, and proves it',
    (rule) => {
      let bent = 0;
      for (let seed = 1; seed <= 30; seed++) {
        const { problem, netting } = nettedProblem(seed, rule);
        const expected = solveProgram(highs, problem, { unservedPerKwh: UNSERVED, netting });
        const solution = optimalDispatch({
          ...problem,
          terms: [{ ...NETTING, ...netting, groups: netting.next.length, period: netting.next.map((_, g) => g) }],
        });
        expect(checkSchedule(problem, solution).faults, `seed ${seed}`).toEqual([]);
        const unserved = solution.unservedKwh.reduce((sum, kwh) => sum + kwh, 0);
        const scale = Math.max(1, Math.abs(expected));
        expect(Math.abs(solution.cost + UNSERVED * unserved - expected) / scale, `seed ${seed}`).toBeLessThanOrEqual(
          1e-7,
        );
        expect(solution.gap / scale, `seed ${seed}`).toBeLessThanOrEqual(1e-7);
        // At its own prices, as if nothing were netted, the same home comes to another cost: the term bends.
        if (Math.abs(solveProgram(highs, problem, { unservedPerKwh: UNSERVED }) - expected) / scale > 1e-3) bent++;
      }
      expect(bent).toBeGreaterThan(10);
    },
    300_000,
  );
});

const NETTING = { kind: 'netting', name: 'Net metering', convex: true } as const;

/** A random home whose kWh offset each other by period and window: a surplus settles for little, or goes to the next period. */
function nettedProblem(seed: number, rule: 'settled' | 'carried' | 'one window') {
  const random = seeded(seed + 31);
  const drawn = randomProblem(seed, 384, 'window', seed % 2 === 0);
  const windows = rule === 'one window' ? 1 : 2;
  const prices = [0.1 + 0.1 * random(), 0.3 + 0.2 * random()];
  const group = Int32Array.from(drawn.netLoadKwh, (_, i) => {
    const hour = (i * drawn.stepHours) % 24;
    return windows * Math.floor(i / 96) + (windows === 2 && hour >= 16 && hour < 21 ? 1 : 0);
  });
  const price = drawn.netLoadKwh.map((_, i) => prices[group[i]! % windows]!);
  const problem: DispatchProblem = { ...drawn, importPricePerKwh: price, exportPricePerKwh: price.slice() };
  const groups = 4 * windows;
  return {
    problem,
    netting: {
      group,
      pricePerKwh: Float64Array.from({ length: groups }, (_, g) => prices[g % windows]!),
      next: Int32Array.from({ length: groups }, (_, g) =>
        rule === 'carried' && g + windows < groups ? g + windows : -1,
      ),
      surplusPerKwh: new Float64Array(groups).fill(0.02 + 0.05 * random()),
      carriedInKwh: Float64Array.from({ length: groups }, (_, g) => (g < windows ? 2 * random() : 0)),
    },
  };
}

describe('with demand charges', () => {
  it('agrees to 1e-6 on 40 random problems of one to four periods, averaged over one interval', () => {
    for (let seed = 1; seed <= 40; seed++) {
      const problem = randomProblem(seed, 150 + 8 * seed, KINDS[seed % 4]!, seed % 2 === 0);
      const demand = demandOf(problem, seed, 1);
      const expected = solveProgram(highs, problem, { unservedPerKwh: UNSERVED, demand: [demand] });
      const solution = optimalDispatch({ ...problem, demandCharges: [demand] });
      expect(checkSchedule(problem, solution).faults, `seed ${seed}`).toEqual([]);
      const unserved = solution.unservedKwh.reduce((sum, kwh) => sum + kwh, 0);
      const total = solution.cost + UNSERVED * unserved;
      const scale = Math.max(1, Math.abs(expected));
      expect(Math.abs(total - expected) / scale, `seed ${seed}`).toBeLessThanOrEqual(1e-6);
      expect(solution.gap / scale, `seed ${seed}`).toBeLessThanOrEqual(1e-6);
    }
  }, 300_000);

  it('agrees to 1e-6 on 12 random problems where three charges, as of several suppliers, fall on one peak', () => {
    for (let seed = 1; seed <= 12; seed++) {
      const problem = randomProblem(seed, 150 + 8 * seed, KINDS[seed % 4]!, true);
      const demand = demandOf(problem, seed, 1);
      const charges = [0.2, 0.5, 0.3].map((share) => ({
        ...demand,
        period: demand.period.slice(),
        pricePerKw: share * demand.pricePerKw,
      }));
      const expected = solveProgram(highs, problem, { unservedPerKwh: UNSERVED, demand: [demand] });
      const { cost, gap } = optimalDispatch({ ...problem, demandCharges: charges });
      const scale = Math.max(1, Math.abs(expected));
      expect(Math.abs(cost - expected) / scale, `seed ${seed}`).toBeLessThanOrEqual(1e-6);
      expect(gap / scale, `seed ${seed}`).toBeLessThanOrEqual(1e-6);
    }
  }, 300_000);

  it('bound ≤ optimum ≤ cost where several intervals are averaged, or charges overlap', () => {
    for (let seed = 1; seed <= 24; seed++) {
      const problem = randomProblem(seed, 150 + 8 * seed, KINDS[seed % 4]!, true);
      const charges = [demandOf(problem, seed, seed % 3 === 0 ? 1 : 2)];
      if (seed % 3 === 0) {
        const period = charges[0]!.period.map((g, i) => ((i * problem.stepHours) % 24 >= 16 ? g : -1));
        charges.push({ ...charges[0]!, period, pricePerKw: 1 });
      }
      const expected = solveProgram(highs, problem, { unservedPerKwh: UNSERVED, demand: charges });
      const { cost, gap } = optimalDispatch({ ...problem, demandCharges: charges });
      const rounding = 1e-7 * Math.max(1, Math.abs(expected));
      expect(cost, `seed ${seed}`).toBeGreaterThanOrEqual(expected - rounding);
      expect(cost - gap, `seed ${seed}`).toBeLessThanOrEqual(expected + rounding);
    }
  }, 300_000);
});

describe('with a demand charge that a minimum bill counts', () => {
  it('agrees to 2e-6 on 30 random problems of two periods, and proves it', () => {
    let topped = 0;
    let between = 0;
    for (let seed = 1; seed <= 30; seed++) {
      const problem = randomProblem(seed, 192 + 4 * seed, KINDS[seed % 2]!, true);
      const half = Math.ceil(problem.netLoadKwh.length / 2);
      const period = Int32Array.from(problem.netLoadKwh, (_, i) => (i < half ? 0 : 1));
      const demand = { period, pricePerKw: 1 + (seed % 5), soFarKw: 0, averagingSteps: 1 };
      const charged = { unservedPerKwh: UNSERVED, demand: [demand] };
      const least = solveProgram(highs, problem, charged);
      // A share of what the best comes to without a minimum, the same in both periods: from idle to binding twice.
      const amount = new Float64Array(2).fill(Math.max(1, Math.abs(least)) * [0.3, 0.45, 0.5, 0.53][seed % 4]!);
      const expected = solveProgram(highs, problem, { ...charged, minimum: { group: period, amount } });
      if (expected > least + 1e-6) topped++;
      if (expected > least + 1e-6 && expected > amount[0]! + amount[1]! + 1e-6) between++;
      const power = { ...byPower(period), pricePerKw: new Float64Array(2).fill(demand.pricePerKw) };
      const { importPricePerKwh, exportPricePerKwh } = problem;
      const counted = { importPricePerKwh, exportPricePerKwh, terms: [power] };
      const share = new Float64Array(2).fill(1);
      const minimum = { kind: 'minimum', name: 'Least', group: period, ...TWO, convex: true, amount, share } as const;
      const solution = optimalDispatch({ ...problem, terms: [power, { ...minimum, counted }] });
      expect(checkSchedule(problem, solution).faults, `seed ${seed}`).toEqual([]);
      const scale = Math.max(1, Math.abs(expected));
      expect(Math.abs(solution.cost - expected) / scale, `seed ${seed}`).toBeLessThanOrEqual(2e-6);
      expect((solution.cost - solution.gap - expected) / scale, `seed ${seed}`).toBeLessThanOrEqual(1e-7);
      expect(solution.gap / scale, `seed ${seed}`).toBeLessThanOrEqual(2e-6);
    }
    expect(topped).toBeGreaterThan(10);
    // In some neither the minimum alone nor the rest of the bill alone is the answer.
    expect(between).toBeGreaterThan(5);
  }, 300_000);
});

describe('with fees by class of power', () => {
  it('bound ≤ optimum ≤ cost, which is the optimum on most of 24 random problems of two periods', () => {
    let found = 0;
    for (let seed = 1; seed <= 24; seed++) {
      const problem = randomProblem(seed, 96 + 4 * seed, KINDS[seed % 2]!, true);
      const half = Math.ceil(problem.netLoadKwh.length / 2);
      const period = Int32Array.from(problem.netLoadKwh, (_, i) => (i < half ? 0 : 1));
      const upToKw = [1.5, 3, 5, Number.POSITIVE_INFINITY];
      // Dearer by the class, and on some cheaper again, as where a contract for much power pays less.
      const fee = seed % 6 === 0 ? [2, 6, 4, 9] : [1, 3, 6, 12];
      const expected = solveProgram(highs, problem, { unservedPerKwh: UNSERVED, classes: { period, upToKw, fee } });
      const steps = {
        upToKw: Float64Array.from(upToKw),
        amount: Float64Array.from(fee),
        share: new Float64Array(2).fill(1),
      };
      const power = { ...byPower(period), convex: false, steps };
      const solution = optimalDispatch({ ...problem, terms: [power] });
      expect(checkSchedule(problem, solution).faults, `seed ${seed}`).toEqual([]);
      const scale = Math.max(1, Math.abs(expected));
      // 1e-5: the solver's own integrality tolerance
      expect((expected - solution.cost) / scale, `seed ${seed}`).toBeLessThanOrEqual(1e-5);
      expect((solution.cost - solution.gap - expected) / scale, `seed ${seed}`).toBeLessThanOrEqual(1e-5);
      if ((solution.cost - expected) / scale <= 1e-5) found++;
    }
    expect(found).toBeGreaterThanOrEqual(20);
  }, 300_000);
});

const TWO = { groups: 2, period: Int32Array.of(0, 1) };

/** A term of demand of two periods, of one interval each. */
function byPower(group: Int32Array) {
  return {
    kind: 'demand',
    name: 'Power',
    group,
    ...TWO,
    convex: true,
    pricePerKw: new Float64Array(2),
    averagingSteps: 1,
    phaseSteps: 0,
    highestDays: 1,
    scale: 1,
    minimumKw: new Float64Array(2),
  } as const;
}

function demandOf(problem: DispatchProblem, seed: number, averagingSteps: number) {
  const random = seeded(seed);
  const length = Math.ceil(problem.netLoadKwh.length / (1 + (seed % 4)));
  return {
    period: Int32Array.from(problem.netLoadKwh, (_, i) => (i % 50 === 7 ? -1 : Math.floor(i / length))),
    pricePerKw: 0.2 + 6 * random(),
    soFarKw: seed % 5 === 0 ? 2 : 0,
    averagingSteps,
  };
}

describe('where charging and discharging at once would pay, the bound holds', () => {
  it('bound ≤ mixed-integer optimum ≤ cost of our schedule, on 60 small problems', () => {
    let gaps = 0;
    let captured = 0;
    for (let seed = 1; seed <= 60; seed++) {
      const problem = randomProblem(seed, 12 + (seed % 25), 'negative');
      const best = solveProgram(highs, problem, { unservedPerKwh: UNSERVED, exclusive: true });
      const solution = optimalDispatch(problem);
      expect(checkSchedule(problem, solution).faults, `seed ${seed}`).toEqual([]);
      const unserved = solution.unservedKwh.reduce((sum, kwh) => sum + kwh, 0);
      const total = solution.cost + UNSERVED * unserved;
      // 1e-6: the solver's own integrality tolerance
      expect(total, `seed ${seed}`).toBeGreaterThanOrEqual(best - 1e-6);
      expect(total - solution.gap, `seed ${seed}`).toBeLessThanOrEqual(best + 1e-6);
      if (solution.proof === 'gap') gaps++;
      if (total - best < 1e-6) captured++;
    }
    expect(gaps).toBeGreaterThan(30);
    expect(captured).toBeGreaterThan(0);
  }, 300_000);
});
