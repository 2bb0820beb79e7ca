import { settings } from '@duskbank/core/study';
import { note, print, printJson } from '../io/output.ts';
import { loadStudy } from '../io/study.ts';
import { settingsText } from '../render/settings.ts';

/** `duskbank settings SITE` */
export function run(sitePath: string, options: { json?: boolean }): void {
  const study = loadStudy(sitePath);
  const report = settings(study);
  if (!options.json) {
    print(settingsText(report, study));
    return;
  }
  printJson(report);
  for (const warning of report.warnings) note(`warning: ${warning.message}`);
}
