export { type StoredValue, storedValue } from './explain/stored-value.ts';
export {
  clearSkyScaled,
  type Forecaster,
  type ForecastScore,
  likeDayBlend,
  likeDayQuantile,
  persistence,
  sameWeekday,
  scoreForecast,
} from './forecast/forecasts.ts';
export { likeDays } from './forecast/like-days.ts';
export { type Home, homeOnAxis } from './home.ts';
export { bestInHindsight, type Hindsight, type HindsightOptions, optimum } from './optimum/hindsight.ts';
export { homeProblem } from './optimum/home-problem.ts';
export { optimalDispatch } from './optimum/optimal-dispatch.ts';
export type { DemandCharge, DispatchProblem, DispatchSolution } from './optimum/problem.ts';
export { makeScratch, type Scratch } from './optimum/scratch.ts';
export { type PeakShaveOptions, peakShave } from './peak-shave.ts';
export { hold, none, selfConsumption } from './plain.ts';
export { type RollingOptions, rolling } from './rolling/rolling.ts';
export { publishedUntil, type RunOptions, runStrategy, type StrategyRun } from './run.ts';
export type { Controller } from './settings/candidates.ts';
export {
  energyCosts,
  type FoundSheets,
  type SearchedSettings,
  searchedSettings,
  searchSettings,
  weekParity,
} from './settings/search.ts';
export {
  type ClockWindow,
  type DatedReserve,
  followSheet,
  type ReservePlan,
  type SettingsSheet,
  type SheetSchedule,
} from './settings/sheet.ts';
export type { Planner, Strategy, StrategyRole, StrategyView } from './strategy.ts';
export { windowFill } from './window.ts';
