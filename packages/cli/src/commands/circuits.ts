import { APPLIANCES } from '@duskbank/core/outage';
import { circuits } from '@duskbank/core/study';
import { inputFault } from '../io/fail.ts';
import { print, printJson } from '../io/output.ts';
import { readStudy } from '../io/site.ts';
import { appliancesText, circuitsText } from '../render/circuits.ts';
import { printBackupNeeds } from './backup-needs.ts';

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
    printBackupNeeds(study, options.json === true);
    return;
  }
  const report = circuits(study);
  if (options.json) printJson(report);
  else print(circuitsText(report));
}
