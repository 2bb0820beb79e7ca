import { optimalDispatch } from '../optimum/optimal-dispatch.ts';
import type { DispatchProblem } from '../optimum/problem.ts';

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

/** The value of `socKwh` stored at the start of interval `from`. On prices alone: terms of a bill are left out. */
export function storedValue(problem: DispatchProblem, from: number, socKwh: number): StoredValue {
  const rest = { ...problem, initialKwh: socKwh } as Record<string, unknown>;
  for (const [name, value] of Object.entries(problem))
    if (value instanceof Float64Array) rest[name] = value.subarray(from);
  const solution = optimalDispatch(rest as unknown as DispatchProblem);
  return {
    costToGo: solution.cost,
    perKwh: solution.marginalValuePerKwh[0]!,
    chargeKwh: solution.chargeKwh[0]!,
    dischargeKwh: solution.dischargeKwh[0]!,
  };
}
