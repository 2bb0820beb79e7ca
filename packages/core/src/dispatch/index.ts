export { publishedUntil } from './curtain.ts';
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
export { type BoundCheck, checkBound, storedPrices } from './optimum/certificate.ts';
export { bestInHindsight, type Hindsight, type HindsightOptions } from './optimum/hindsight.ts';
export { homeProblem } from './optimum/home-problem.ts';
export { optimalDispatch } from './optimum/optimal-dispatch.ts';
export type { DemandCharge, DispatchProblem, DispatchSolution } from './optimum/problem.ts';
export { makeScratch, type Scratch } from './optimum/scratch.ts';
export * from './ours.ts';
export type { RunOptions, StrategyRun } from './play.ts';
export { runStrategy } from './run.ts';
export type { Controller } from './settings/candidates.ts';
export type { LightsChoice } from './settings/choose.ts';
export { type FoundSheets, searchSettings } from './settings/search.ts';
export type {
  ClockWindow,
  DatedReserve,
  ReservePlan,
  SettingsSheet,
  SheetSchedule,
} from './settings/sheet.ts';
export type { SettingsWishes } from './settings/wishes.ts';
export type { Planner, Strategy, StrategyRole, StrategyView } from './strategy.ts';
