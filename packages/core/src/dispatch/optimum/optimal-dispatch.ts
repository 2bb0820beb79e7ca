import { check, type Rule, report } from '../../input/door.ts';
import type { PeakPrice } from '../../tariff/terms/bound.ts';
import { planBackward, releasePlan } from './backward.ts';
import { solveTerms } from './bill-terms.ts';
import { solveDecaying } from './decaying/solve.ts';
import { followForward } from './forward.ts';
import {
  checkProblem,
  type DemandCharge,
  type DispatchProblem,
  type DispatchSolution,
  releaseSteps,
  toSteps,
} from './problem.ts';
import { makeReachable } from './reachable.ts';
import { Scratch } from './scratch.ts';

const aScratch: Rule = (value, path, looking) => {
  if (!(value instanceof Scratch)) report(looking, path, 'wrong-type', value, 'what makeScratch() gives');
};

/**
 * The schedule of least cost for a battery when everything is known ahead, and the value of a stored kWh at every
 * instant. Exact where in each interval charging costs at least what discharging earns (docs/concepts/optimum.md);
 * elsewhere the best found, with a proven gap; `terms` that bend may leave one too. Always feasible. O(n · segments of the value curve).
 *
 * @param scratch work arrays of {@link makeScratch}, where many problems are solved in a row: saves a tenth of the time
 * @throws InputError `missing` | `wrong-type` | `length-mismatch` | `not-finite` | `out-of-range` | `contradiction`
 * @example
 * optimalDispatch({
 *   stepHours: 1, netLoadKwh: Float64Array.of(0, 1), importPricePerKwh: Float64Array.of(0.1, 0.5),
 *   exportPricePerKwh: Float64Array.of(0, 0), capacityKwh: 2, floorKwh: 0, initialKwh: 0,
 *   chargeLimitKw: 2, dischargeLimitKw: 2, chargeEfficiency: 0.9, dischargeEfficiency: 0.9,
 * }).cost // 0.1 / 0.81
 */
export function optimalDispatch(problem: DispatchProblem, scratch = new Scratch()): DispatchSolution {
  checkProblem(problem);
  check({ scratch }, { scratch: aScratch });
  return solveDispatch(problem, scratch);
}

/** {@link optimalDispatch} of a problem that was checked. */
export function solveDispatch(problem: DispatchProblem, scratch = new Scratch()): DispatchSolution {
  const steps = toSteps(problem, scratch);
  makeReachable(steps);
  const charges = (problem.demandCharges ?? []).map((charge) => peakCharge(charge, problem.stepHours));
  if (charges.length > 0 || (problem.terms ?? []).length > 0) {
    const clock = { stepHours: problem.stepHours, calendar: { day: problem.day ?? plainDays(problem) } };
    const { schedule, cost, bound, exact } = solveTerms(steps, problem.terms ?? [], clock, charges);
    const { unservedCost, overCapCost: _, ...flows } = schedule;
    releaseSteps(steps);
    return {
      ...flows,
      cost: cost - unservedCost,
      proof: exact ? 'exact' : 'gap',
      gap: exact ? 0 : Math.max(0, cost - bound),
    };
  }
  const decaying = solveDecaying(steps);
  if (decaying !== undefined) {
    const { unservedCost: _, overCapCost: __, ...flows } = decaying;
    releaseSteps(steps);
    return { ...flows, proof: 'exact', gap: 0 };
  }
  const plan = planBackward(steps);
  const { unservedCost, overCapCost: _, ...schedule } = followForward(steps, plan);
  releasePlan(plan, steps.scratch);
  releaseSteps(steps);
  if (plan.convex) return { ...schedule, proof: 'exact', gap: 0 };
  return { ...schedule, proof: 'gap', gap: Math.max(0, schedule.cost + unservedCost - plan.bound) };
}

function plainDays({ netLoadKwh, stepHours }: DispatchProblem): Int32Array {
  return Int32Array.from(netLoadKwh, (_, i) => Math.floor((i * stepHours) / 24 + 1e-9));
}

function peakCharge(charge: DemandCharge, stepHours: number): PeakPrice {
  const { pricePerKw, period, averagingSteps = 1, soFarKw = 0 } = charge;
  let groups = 0;
  for (const g of period) if (g >= groups) groups = g + 1;
  const leastKwh = new Float64Array(groups);
  for (let g = 0; g < groups; g++)
    leastKwh[g] = (typeof soFarKw === 'number' ? soFarKw : (soFarKw[g] ?? 0)) * stepHours;
  return {
    group: period,
    pricePerKwh: new Float64Array(groups).fill(pricePerKw / stepHours),
    leastKwh,
    averagingSteps,
    phaseSteps: 0,
  };
}
