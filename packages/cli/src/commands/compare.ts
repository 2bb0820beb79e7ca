import { intervalStartMs } from '@duskbank/core/axis';
import { rolling } from '@duskbank/core/dispatch';
import { quoteName, showName } from '@duskbank/core/input';
import {
  compare,
  type Study,
  standardStrategies,
  strategyNamed,
  tariffChoice,
  tariffSwitch,
  wearStrategies,
} from '@duskbank/core/study';
import type { Outcome } from '@duskbank/core/trial';
import { inputFault } from '../io/fail.ts';
import { FLOW_TABLE_HEADER, FLOWS } from '../io/ours.ts';
import { csvCell, note, noteWarnings, print, printJson } from '../io/output.ts';
import { makeProgress } from '../io/progress.ts';
import { readSite, readStudy } from '../io/site.ts';
import { dateNamed, today } from '../io/today.ts';
import { refuseOutput, writeWhole } from '../io/write.ts';
import { compareCsv, compareText } from '../render/compare.ts';
import { choiceText } from '../render/tariff-choice.ts';
import { switchText } from '../render/tariff-switch.ts';

interface Options {
  json?: boolean;
  csv?: boolean;
  intervals?: string;
  strategy?: string[];
  all?: boolean;
  wear?: boolean;
  tariff?: string[];
  force?: boolean;
  today?: string;
}

/** `duskbank compare SITE` */
export async function run(sitePath: string, options: Options): Promise<void> {
  const now = options.today === undefined ? undefined : dateNamed(options.today, '--today');
  if (options.tariff !== undefined) {
    await compareTariffs(sitePath, options.tariff, options, now);
    return;
  }
  const study = await readStudy(sitePath);
  const strategies = [
    ...chosen(study, options.strategy, options.all === true),
    ...(options.wear === true ? wearStrategies(study, options.all === true) : []),
  ];
  const force = options.force === true;
  if (options.intervals !== undefined) refuseOutput(options.intervals, force);
  const runs: Outcome<'flows'>[] = [];
  const progress = makeProgress();
  const report = compare(study, {
    strategies,
    today: now ?? today(study.home.axis.zone),
    onStrategy: (name) => progress.step(`running ${name}`),
    ...(options.intervals === undefined ? {} : { onRun: (outcome: Outcome<'flows'>) => runs.push(outcome) }),
  });
  if (options.intervals !== undefined) {
    progress.step(`writing ${options.intervals}`);
    await writeWhole(options.intervals, intervalRows(study, runs), force);
  }
  progress.done();
  if (options.json) printJson(report);
  else if (options.csv) print(compareCsv(report));
  else print(compareText(report));
  if (options.json || options.csv) noteWarnings(report.warnings);
  if (options.intervals !== undefined) note(`wrote ${showName(options.intervals)}`);
}

/** `duskbank compare SITE --tariff A --tariff B`: what switching gives, and what a battery adds on top. */
async function compareTariffs(
  sitePath: string,
  paths: readonly string[],
  options: Options,
  now: string | undefined,
): Promise<void> {
  for (const name of ['intervals', 'strategy', 'all', 'wear'] as const)
    if (options[name] !== undefined)
      throw inputFault({
        code: 'not-together',
        where: { column: `--${name}` },
        received: `--${name} beside --tariff`,
        expected: 'one of the two',
        hint: `name the tariff in the site file, and compare it alone with --${name}`,
      });
  const { tariffs, studyOf } = await readSite(sitePath, { moreTariffs: paths });
  const own = JSON.stringify(tariffs[0]!.tariff.document);
  const studies = tariffs
    .filter(({ tariff }, k) => k === 0 || JSON.stringify(tariff.document) !== own)
    .map((loaded) => studyOf(loaded));
  if (studies[0]!.site.plant === undefined) {
    if (options.csv)
      throw inputFault({
        code: 'no-battery',
        where: { column: '--csv' },
        received: '--csv, and a site without a battery',
        expected: 'a site that states one under "plant": the table has a row for each way to run it',
        hint: 'leave out --csv, or take --json',
      });
    const choice = tariffChoice(studies);
    if (options.json) printJson(choice);
    else print(choiceText(choice));
    if (options.json) noteWarnings(choice.warnings);
    return;
  }
  const progress = makeProgress();
  const report = tariffSwitch(studies, {
    today: now ?? today(studies[0]!.home.axis.zone),
    onStrategy: (name, tariff) => progress.step(`running ${name} on ${quoteName(tariff)}`),
  });
  progress.done();
  if (options.json) printJson(report);
  else if (options.csv) print(compareCsv(report));
  else print(switchText(report));
  if (options.json || options.csv) noteWarnings(report.warnings);
}

function chosen(study: Study, names: string[] | undefined, everything: boolean) {
  const standard = standardStrategies(study);
  const all = [...standard, rolling()];
  if (names === undefined) return everything ? all : standard;
  return names.map((name) => strategyNamed(name, all));
}

/** Every flow of every interval: a row a strategy and interval, in blocks so that a year stays small in memory. */
function* intervalRows(study: Study, runs: readonly Outcome<'flows'>[]): Generator<string> {
  const { axis, loadKwh, solarKwh, tariff, onAxis } = study.home;
  const { standbyKwh, conversionKwh } = onAxis;
  yield FLOW_TABLE_HEADER;
  for (const { strategy, withoutPlant, flows } of runs) {
    let block = '';
    const standby = withoutPlant ? 0 : standbyKwh;
    const name = csvCell(strategy);
    for (let i = 0; i < axis.intervals; i++) {
      const start = new Date(intervalStartMs(axis, i)).toISOString().slice(0, 16);
      const converts = flows.chargeKwh[i]! > 0 || flows.dischargeKwh[i]! > 0;
      block += `${name},${start}Z,${loadKwh[i]},${solarKwh[i]},${converts ? standby + conversionKwh : standby}`;
      for (const flow of FLOWS) block += `,${flows[flow][i]}`;
      block += `,${tariff.importPricePerKwh[i]},${tariff.exportPricePerKwh[i]}\n`;
      if (i % 2000 === 1999) {
        yield block;
        block = '';
      }
    }
    yield block;
  }
}
