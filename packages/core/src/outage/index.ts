export { APPLIANCES, type Appliance, type RangeW } from './appliances.ts';
export { type Backup, backupSchema } from './backup.ts';
export {
  type CarryPlan,
  type CircuitVerdict,
  type IslandOutput,
  medicalHazards,
  type OutputSection,
  type Overload,
  overloadsOf,
  planCarry,
  resolveOutput,
  sharedNeutralHazards,
} from './carry.ts';
export type { Caution } from './cautions.ts';
export {
  byPriority,
  type Circuit,
  type CircuitFinding,
  circuitsLoadKwh,
  questionCircuits,
  resolveCircuits,
} from './circuits.ts';
export { type MovingFloor, movingFloor, type PlannedOutage, type Reserve } from './floors.ts';
export { type BackupHoursOptions, backupHours, CAP_HOURS, islandAdditions } from './hours.ts';
export { type Island, type IslandOptions, islandOf } from './island.ts';
export {
  checkPanel,
  continuousAmps,
  type Dwelling,
  EXISTING_DWELLING,
  type LoadCalculation,
  type MeasuredLoad,
  measuredLoad,
  NEW_DWELLING,
  optionalDwellingLoad,
  type Panel,
  type PanelCheck,
  panelCapacityVa,
  standardDwellingLoad,
} from './panel.ts';
export {
  expectedUnservedKwhPerYear,
  type Interruption,
  lastsLonger,
  meanLengthUpTo,
  type OutageKind,
  outageKinds,
  type Reliability,
  reliabilityIndices,
  US_AVERAGE_2023,
} from './reliability.ts';
export { type ReserveBySituation, reserveBySituation } from './reserve.ts';
export type { ResolvedCircuit } from './resolved-circuit.ts';
export { type CircuitService, type SimulatedOutage, type SimulateOptions, simulateOutage } from './simulate.ts';
export type { SitingItem } from './siting.ts';
export {
  type BackupSummary,
  isWeekdayEvening,
  type Percentiles,
  type ReserveSummary,
  reserveKwh,
  summarizeBackup,
  summarizeReserve,
} from './summary.ts';
export {
  rechargeHours,
  type Slice,
  type Start,
  type SurvivalCurve,
  sliceBackup,
  survivalCurve,
  type UnservedAt,
  unservedAt,
  worstStarts,
} from './survival.ts';
