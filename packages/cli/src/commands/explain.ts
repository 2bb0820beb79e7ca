import { rolling } from '@duskbank/core/dispatch';
import { explain, headlineStrategy, standardStrategies, strategyNamed } from '@duskbank/core/study';
import { intervalNamed } from '../io/moment.ts';
import { print, printJson } from '../io/output.ts';
import { readStudy } from '../io/site.ts';
import { explainText } from '../render/explain.ts';

interface Options {
  at: string;
  strategy?: string;
  json?: boolean;
}

/** `duskbank explain SITE --at TIME` */
export async function run(sitePath: string, options: Options): Promise<void> {
  const study = await readStudy(sitePath);
  const index = intervalNamed(study.home.axis, options.at);
  const all = [...standardStrategies(study), rolling()].filter((strategy) => strategy.role !== 'baseline');
  const strategy = options.strategy === undefined ? headlineStrategy(study) : strategyNamed(options.strategy, all);
  const report = explain(study, strategy, index);
  if (options.json) printJson(report);
  else print(explainText(report));
}
