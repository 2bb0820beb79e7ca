export type { PlannedSolar, PlannedSolarInput } from '../site/index.ts';
export {
  makeStudy,
  perYear,
  type Study,
  type StudyInput,
  spanDays,
  type TariffSource,
} from '../site/index.ts';
export { VERSION } from '../version.ts';
export { backupNeeds } from './backup-needs.ts';
export { type BackupNeedsReport, backupNeedsReportSchema } from './backup-needs-schema.ts';
export { type BillInput, bill } from './bill.ts';
export { type BillReport, billReportSchema } from './bill-schema.ts';
export { billPast, type PastBills } from './bills.ts';
export { type CheckOptions, type CheckOutcome, check } from './check.ts';
export { type CheckReport, checkReportSchema } from './check-schema.ts';
export { circuits } from './circuits.ts';
export { type CircuitsReport, circuitsReportSchema } from './circuits-schema.ts';
export { type CompareOptions, compare } from './compare.ts';
export { type CompareReport, compareReportSchema, type StrategyResult } from './compare-schema.ts';
export { explain } from './explain.ts';
export { type ExplainReport, explainReportSchema } from './explain-schema.ts';
export { headlineStrategy } from './headline.ts';
export { type InspectOptions, type InspectOutcome, inspect } from './inspect.ts';
export { type InspectReport, inspectReportSchema } from './inspect-schema.ts';
export { type OutageOptions, outage } from './outage.ts';
export {
  type DatedStart,
  type FrontierPoint,
  type GoalMet,
  type HourPrice,
  type KeptOn,
  type OutageReport,
  outageReportSchema,
  type PlayedOutage,
  type StrategyOutage,
} from './outage-schema.ts';
export type { Provenance } from './provenance.ts';
export { type Refusal, refusalSchema } from './refusal-schema.ts';
export type { AxisPart, PlantPart } from './report-parts.ts';
export { reportSchemas } from './report-schemas.ts';
export { type SettingsOptions, settings } from './settings.ts';
export { type SettingsReport, settingsReportSchema } from './settings-schema.ts';
export { sheetFileSchema } from './sheet-file-schema.ts';
export { standardStrategies, strategyNamed, wearStrategies } from './strategies.ts';
export { tariffChoice } from './tariff-choice.ts';
export { type TariffChoiceReport, tariffChoiceReportSchema } from './tariff-choice-schema.ts';
export { tariffReport } from './tariff-report.ts';
export { type TariffReport, tariffReportSchema } from './tariff-report-schema.ts';
export { type TariffSwitchOptions, type TariffSwitchReport, tariffSwitch } from './tariff-switch.ts';
export type { SwitchStep, TariffRow, TariffSwitch } from './tariff-switch-schema.ts';
