import type { PlanOptions } from './backward.ts';
import { copySteps, type StepProblem } from './problem.ts';

/** A stretch of a problem as a problem of its own. */
export function sliceOf(problem: StepProblem, first: number, end: number, initialKwh: number): StepProblem {
  const cut = (array: Float64Array) => array.subarray(first, end);
  const maybe = (array: Float64Array | undefined) => (array === undefined ? undefined : cut(array));
  const slice = copySteps(problem);
  slice.intervals = end - first;
  slice.stepsToEnd = problem.stepsToEnd - first;
  slice.netLoadKwh = cut(problem.netLoadKwh);
  slice.importPricePerKwh = cut(problem.importPricePerKwh);
  slice.exportPricePerKwh = cut(problem.exportPricePerKwh);
  slice.chargeLimitKwh = cut(problem.chargeLimitKwh);
  slice.dischargeLimitKwh = cut(problem.dischargeLimitKwh);
  slice.lowKwh = cut(problem.lowKwh);
  slice.highKwh = cut(problem.highKwh);
  slice.floorKwh = cut(problem.floorKwh);
  slice.clippedKwh = maybe(problem.clippedKwh);
  slice.servedLoadLimitKwh = maybe(problem.servedLoadLimitKwh);
  slice.importCapKwh = maybe(problem.importCapKwh);
  slice.overCapPerKwh = maybe(problem.overCapPerKwh);
  slice.initialKwh = initialKwh;
  return slice;
}

/** Stored energy that a stretch from `first` on may start with; the first starts with what there is. */
export function startBand(problem: StepProblem, first: number, start: number): PlanOptions {
  if (first === 0) return { fromLowKwh: start, fromHighKwh: start };
  return { fromLowKwh: problem.lowKwh[first - 1]!, fromHighKwh: problem.highKwh[first - 1]! };
}
