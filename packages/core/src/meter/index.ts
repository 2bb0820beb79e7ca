export { PANEL_CAUTION } from '../words/metering.ts';
export { type Adjustment, adjustSeries } from './adjust.ts';
export { COARSE_BIAS, type CoarseBias } from './coarse.ts';
export { checkMetering } from './faults.ts';
export { writeIntervalCsv } from './interval-file.ts';
export { joinSeries, sumToStep } from './join.ts';
export type { MeteringContext, MeteringFault } from './metering/fault.ts';
export { energyOnAxis } from './onto-axis.ts';
export {
  type ColumnMap,
  type ColumnRef,
  type ParseOptions,
  ROW_KINDS,
  type RowKind,
  UNITS,
  type Unit,
} from './options.ts';
export { parseIntervalData } from './parse.ts';
export {
  demandDays,
  estimatedShare,
  type GapLeft,
  type GapRepair,
  type GapRepairOptions,
  type GapRepairResult,
  gapIntervals,
  LONGEST_GAP_HOURS,
  repairGaps,
  undoRepairs,
} from './repair.ts';
export type { MeterFile, MeterSource } from './schema.ts';
export {
  CHANNELS,
  type Channel,
  type ChannelField,
  type ChannelPart,
  channelField,
  ESTIMATED,
  type Finding,
  type IntervalData,
  type IntervalSeries,
  type Layout,
} from './series.ts';
export type { ServiceKw } from './service.ts';
export { readIntervals, type Sheet, type XlsxDecoder } from './spreadsheet.ts';
export { faultsOf } from './stops.ts';
