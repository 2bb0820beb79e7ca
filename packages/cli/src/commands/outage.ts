import { outage, standardStrategies } from '@duskbank/core/study';
import { note, print, printJson } from '../io/output.ts';
import { makeProgress } from '../io/progress.ts';
import { loadStudy } from '../io/study.ts';
import { outageText } from '../render/outage.ts';

interface Options {
  json?: boolean;
  strategy?: string;
}

/** `duskbank outage SITE` */
export function run(sitePath: string, options: Options): void {
  const study = loadStudy(sitePath);
  const progress = makeProgress();
  const report = outage(study, {
    strategies: standardStrategies(study),
    ...(options.strategy === undefined ? {} : { headline: options.strategy }),
    onStep: (what) => progress.step(what),
  });
  progress.done();
  if (options.json) {
    printJson(report);
    for (const warning of report.warnings) note(`warning: ${warning.message}`);
  } else print(outageText(report, study));
}
