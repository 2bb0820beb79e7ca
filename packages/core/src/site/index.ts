export type { PlannedSolar, PlannedSolarInput } from './lay-solar.ts';
export { type LoadedSite, type LoadOptions, loadSite } from './load.ts';
export { type BillOptions, type LoadedBills, loadActualBills } from './load-bills.ts';
export { loadMeterCosts, type MeterCosts } from './load-costs.ts';
export { type LoadedTariff, loadTariffFile, type TariffFile } from './load-tariff.ts';
export {
  type Assumption,
  INPUT_ROLES,
  type InputRecord,
  type InputRole,
  type Origin,
  recordInput,
} from './origin.ts';
export { parseSite } from './parse.ts';
export { MAX_DATA_BYTES, MAX_DOCUMENT_BYTES, readFault, sizeFault } from './read-faults.ts';
export { SITE_FORMAT, type Site, siteSchema } from './schema.ts';
export type { Decoders, ReadFile } from './source.ts';
export {
  makeStudy,
  perYear,
  type Study,
  spanDays,
} from './study.ts';
export type { PastInput, StudyInput, TariffSource } from './study-input.ts';
