import { showName } from '@duskbank/core/input';
import { tariffReport } from '@duskbank/core/study';
import { isDate } from '@duskbank/core/tariff';
import { inputFault } from '../io/fail.ts';
import { noteWarnings, print, printJson } from '../io/output.ts';
import { readTariff } from '../io/site.ts';
import { tariffPage } from '../render/tariff.ts';

interface Options {
  json?: boolean;
  at?: string;
}

/** `duskbank tariff FILE` */
export async function run(path: string, options: Options): Promise<void> {
  const date = options.at ?? new Date().toISOString().slice(0, 10);
  if (!isDate(date))
    throw inputFault({
      code: 'not-a-date',
      where: { column: '--at' },
      received: `"${showName(options.at ?? '')}"`,
      expected: 'a date such as "2026-03-31"',
    });
  const { tariff, origin } = await readTariff(path);
  const report = tariffReport(tariff, date, origin);
  if (options.json) printJson(report);
  else print(tariffPage(report));
  noteWarnings(report.warnings);
}
