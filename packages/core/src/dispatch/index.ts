export { bestInHindsight, type Hindsight, type HindsightOptions, optimum } from './optimum/hindsight.ts';
export { optimalDispatch } from './optimum/optimal-dispatch.ts';
export type { DemandCharge, DispatchProblem, DispatchSolution } from './optimum/problem.ts';
export { type PeakShaveOptions, peakShave } from './peak-shave.ts';
export { hold, none, selfConsumption } from './plain.ts';
export { type RollingOptions, rolling } from './rolling/rolling.ts';
export { type Home, publishedUntil, type RunOptions, runStrategy, type StrategyRun } from './run.ts';
export type { Planner, Strategy, StrategyView } from './strategy.ts';
export { windowFill } from './window.ts';
