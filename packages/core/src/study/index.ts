export { type CircuitRow, type CircuitsReport, circuits } from './circuits.ts';
export {
  bestCausal,
  billedFlows,
  type CompareOptions,
  compare,
  standardStrategies,
  VERSION,
} from './compare.ts';
export {
  MOST_ESTIMATED_SHARE,
  makeStudy,
  perYear,
  type Study,
  type StudyInput,
  spanDays,
  type Warning,
} from './home.ts';
export {
  type DatedStart,
  type FrontierPoint,
  type GoalMet,
  type HourPrice,
  type KeptOn,
  type OutageOptions,
  type OutageReport,
  outage,
  type PlayedOutage,
  type StrategyOutage,
} from './outage.ts';
export { type CompareReport, compareReportSchema, type StrategyResult } from './report-schema.ts';
