import { APPLIANCES } from '@duskbank/core/outage';
import { backupNeeds, circuits } from '@duskbank/core/study';
import { inputFault } from '../io/fail.ts';
import { noteWarnings, print, printJson } from '../io/output.ts';
import { readStudy } from '../io/site.ts';
import { backupNeedsText } from '../render/backup-needs.ts';
import { appliancesText, circuitsText } from '../render/circuits.ts';

interface Options {
  json?: boolean;
  appliances?: boolean;
}

/** `duskbank circuits SITE` */
export async function run(sitePath: string | undefined, options: Options): Promise<void> {
  if (options.appliances) {
    if (options.json) printJson(APPLIANCES);
    else print(appliancesText());
    return;
  }
  if (sitePath === undefined)
    throw inputFault({
      code: 'missing',
      where: { column: '<site>' },
      received: 'nothing',
      expected: 'a site file, or --appliances for the starter list',
    });
  const study = await readStudy(sitePath);
  if (study.site.plant === undefined) {
    const needs = backupNeeds(study);
    if (options.json) {
      printJson(needs);
      noteWarnings(needs.warnings);
    } else print(backupNeedsText(needs));
    return;
  }
  const report = circuits(study);
  if (options.json) printJson(report);
  else print(circuitsText(report));
}
