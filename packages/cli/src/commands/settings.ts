import { settings } from '@duskbank/core/study';
import { noteWarnings, print, printJson } from '../io/output.ts';
import { readStudy } from '../io/site.ts';
import { settingsText } from '../render/settings.ts';

/** `duskbank settings SITE` */
export async function run(sitePath: string, options: { json?: boolean }): Promise<void> {
  const study = await readStudy(sitePath);
  const report = settings(study);
  if (!options.json) {
    print(settingsText(report));
    return;
  }
  printJson(report);
  noteWarnings(report.warnings);
}
