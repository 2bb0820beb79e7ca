import { check, number } from '../../input/door.ts';
import { amount } from '../../plant/inside.ts';
import { solveDispatch } from '../optimum/optimal-dispatch.ts';
import { checkProblem, type DispatchProblem, storedBefore } from '../optimum/problem.ts';

/** What stored energy was worth at one moment, with everything that came after known. */
export interface StoredValue {
  /** Least cost from the moment to the end. */
  readonly costToGo: number;
  /** Cost saved by one more kWh stored. */
  readonly perKwh: number;
  /** What would have been best to do in the interval. */
  readonly chargeKwh: number;
  readonly dischargeKwh: number;
}

/**
 * The value of `socKwh` stored at the start of interval `from`. On prices alone: demand charges and terms of a bill are
 * left out.
 *
 * @throws InputError on a problem that `optimalDispatch` refuses, an interval that it doesn't have, a store that is negative
 * or above the capacity
 */
export function storedValue(problem: DispatchProblem, from: number, socKwh: number): StoredValue {
  checkProblem(problem);
  check(
    { from, socKwh },
    { from: number({ whole: true, least: 0, most: problem.netLoadKwh.length - 1 }), socKwh: amount },
  );
  check({ socKwh }, { socKwh: storedBefore(problem, from) });
  const { terms: _, demandCharges: __, day: ___, ...priced } = problem;
  const rest = { ...priced, initialKwh: socKwh } as Record<string, unknown>;
  for (const [name, value] of Object.entries(priced))
    if (value instanceof Float64Array) rest[name] = value.subarray(from);
  const solution = solveDispatch(rest as unknown as DispatchProblem);
  return {
    costToGo: solution.cost,
    perKwh: solution.marginalValuePerKwh[0]!,
    chargeKwh: solution.chargeKwh[0]!,
    dischargeKwh: solution.dischargeKwh[0]!,
  };
}
