import { backupNeeds, type Study } from '@duskbank/core/study';
import { noteWarnings, print, printJson } from '../io/output.ts';
import { backupNeedsText } from '../render/backup-needs.ts';

/** What `outage` and `circuits` answer of a home that has no battery. */
export function printBackupNeeds(study: Study, asJson: boolean): void {
  const report = backupNeeds(study);
  if (asJson) {
    printJson(report);
    noteWarnings(report.warnings);
  } else print(backupNeedsText(report));
}
