import { tariffReport } from '@duskbank/core/study';
import { noteWarnings, print, printJson } from '../io/output.ts';
import { readTariff } from '../io/site.ts';
import { dateNamed, today } from '../io/today.ts';
import { tariffPage } from '../render/tariff.ts';

interface Options {
  json?: boolean;
  at?: string;
}

/** `duskbank tariff FILE` */
export async function run(path: string, options: Options): Promise<void> {
  const date = options.at === undefined ? today() : dateNamed(options.at, '--at');
  const { tariff, origin } = await readTariff(path);
  const report = tariffReport(tariff, date, origin);
  if (options.json) printJson(report);
  else print(tariffPage(report));
  noteWarnings(report.warnings);
}
