import { makeReachable, planBackward, releasePlan } from './backward.ts';
import { followForward } from './forward.ts';
import { checkProblem, type DispatchProblem, type DispatchSolution, releaseSteps, toSteps } from './problem.ts';

/**
 * The schedule of least cost for a battery when everything is known ahead, and the value of a stored kWh at every
 * instant. Exact where in each interval charging costs at least what discharging earns (docs/concepts/optimum.md);
 * elsewhere the best found, with a proven gap. Always feasible. O(n · segments of the value curve). Keeps no state.
 *
 * @throws InputError `length-mismatch` | `not-finite` | `out-of-range`
 * @example
 * optimalDispatch({
 *   stepHours: 1, netLoadKwh: Float64Array.of(0, 1), importPricePerKwh: Float64Array.of(0.1, 0.5),
 *   exportPricePerKwh: Float64Array.of(0, 0), capacityKwh: 2, floorKwh: 0, initialKwh: 0,
 *   chargeLimitKw: 2, dischargeLimitKw: 2, chargeEfficiency: 0.9, dischargeEfficiency: 0.9,
 * }).cost // 0.1 / 0.81
 */
export function optimalDispatch(problem: DispatchProblem): DispatchSolution {
  checkProblem(problem);
  const steps = toSteps(problem);
  makeReachable(steps);
  const plan = planBackward(steps);
  const { unservedCost, overCapCost: _, ...schedule } = followForward(steps, plan);
  releasePlan(plan);
  releaseSteps(steps);
  if (plan.convex) return { ...schedule, proof: 'exact', gap: 0 };
  return { ...schedule, proof: 'gap', gap: Math.max(0, schedule.cost + unservedCost - plan.bound) };
}
