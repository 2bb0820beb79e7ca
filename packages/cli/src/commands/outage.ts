import { outage, standardStrategies } from '@duskbank/core/study';
import { inputFault } from '../io/fail.ts';
import { noteWarnings, print, printJson } from '../io/output.ts';
import { makeProgress } from '../io/progress.ts';
import { readStudy } from '../io/site.ts';
import { dateNamed, today } from '../io/today.ts';
import { outageText } from '../render/outage.ts';
import { printBackupNeeds } from './backup-needs.ts';

interface Options {
  json?: boolean;
  strategy?: string;
  full?: boolean;
  today?: string;
}

/** `duskbank outage SITE` */
export async function run(sitePath: string, options: Options): Promise<void> {
  const now = options.today === undefined ? undefined : dateNamed(options.today, '--today');
  const study = await readStudy(sitePath);
  if (study.site.plant === undefined) {
    if (options.strategy !== undefined)
      throw inputFault({
        code: 'no-battery',
        where: { column: '--strategy' },
        received: 'a strategy, and a site without a battery',
        expected: 'a site that states one under "plant"',
      });
    printBackupNeeds(study, options.json === true);
    return;
  }
  const progress = makeProgress();
  const report = outage(study, {
    strategies: standardStrategies(study),
    ...(options.strategy === undefined ? {} : { headline: options.strategy }),
    today: now ?? today(study.home.axis.zone),
    onStep: (what) => progress.step(what),
  });
  progress.done();
  if (options.json) {
    printJson(report);
    noteWarnings(report.warnings);
  } else print(outageText(report, options.full === true));
}
