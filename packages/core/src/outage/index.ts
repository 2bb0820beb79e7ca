export { type Backup, backupSchema } from './backup.ts';
export { type BackupHoursOptions, backupHours, CAP_HOURS, islandAdditions } from './hours.ts';
export { type Island, type IslandOptions, islandOf } from './island.ts';
export {
  type BackupSummary,
  isWeekdayEvening,
  type Percentiles,
  type ReserveSummary,
  reserveKwh,
  summarizeBackup,
  summarizeReserve,
} from './summary.ts';
