export {
  bestCausal,
  billedFlows,
  type CompareOptions,
  type CompareReport,
  compare,
  type StrategyResult,
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
