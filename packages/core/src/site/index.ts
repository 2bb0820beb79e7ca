export type { PlannedSolar, PlannedSolarInput } from './lay-solar.ts';
export {
  type LoadedSite,
  type LoadedTariff,
  type LoadOptions,
  loadSite,
  loadTariffFile,
  type ReadFile,
} from './load.ts';
export { parseSite } from './parse.ts';
export { layPast, type Past, type PastFlows, type PastInput, pastFlows } from './past.ts';
export { MAX_DATA_BYTES, MAX_DOCUMENT_BYTES, readFault, sizeFault } from './read-faults.ts';
export { SITE_FORMAT, type Site, siteSchema } from './schema.ts';
export {
  MOST_ESTIMATED_SHARE,
  makeStudy,
  perYear,
  type Study,
  type StudyInput,
  spanDays,
  type TariffSource,
  type Warning,
} from './study.ts';
export { type ServiceLimit, serviceLimit } from './trust.ts';
