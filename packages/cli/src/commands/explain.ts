import { epochAtLocal, intervalAt } from '@duskbank/core/axis';
import { rolling } from '@duskbank/core/dispatch';
import { bestRunnable, compare, explain, standardStrategies, strategyNamed } from '@duskbank/core/study';
import { inputFault } from '../io/fail.ts';
import { print, printJson } from '../io/output.ts';
import { loadStudy } from '../io/study.ts';
import { explainText } from '../render/explain.ts';

interface Options {
  at: string;
  strategy?: string;
  json?: boolean;
}

/** `duskbank explain SITE --at TIME` */
export function run(sitePath: string, options: Options): void {
  const study = loadStudy(sitePath);
  const { axis } = study.home;
  const epochMs = instant(options.at, axis.zone);
  const index = epochMs === undefined ? -1 : intervalAt(axis, epochMs);
  if (!(index >= 0 && index < axis.intervals))
    throw inputFault({
      code: 'out-of-range',
      where: { column: '--at' },
      received: JSON.stringify(options.at),
      expected: `a time from ${new Date(axis.startEpochMs).toISOString()} to ${new Date(axis.endEpochMs).toISOString()}, such as 2026-01-15T18:30 on the home’s clock`,
    });
  const all = [...standardStrategies(study), rolling()].filter((strategy) => strategy.withoutPlant !== true);
  const name = options.strategy ?? bestRunnable(compare(study).strategies)?.strategy ?? 'window';
  const strategy = strategyNamed(name, all);
  const report = explain(study, strategy, index);
  if (options.json) printJson(report);
  else print(explainText(report, study));
}

/** An instant from a local time, or one with an offset. */
function instant(text: string, zone: string): number | undefined {
  if (/(Z|[+-]\d\d:?\d\d)$/.test(text)) {
    const epochMs = Date.parse(text);
    return Number.isNaN(epochMs) ? undefined : epochMs;
  }
  const match = /^(\d{4})-(\d\d)-(\d\d)[T ](\d\d):(\d\d)$/.exec(text);
  if (match === null) return undefined;
  const localMs = Date.parse(`${match[1]}-${match[2]}-${match[3]}T${match[4]}:${match[5]}:00Z`);
  return Number.isNaN(localMs) ? undefined : epochAtLocal(zone, localMs, 'earlier');
}
