import { formatDate } from '@duskbank/core/axis';
import { loadActualBills, loadMeterCosts } from '@duskbank/core/site';
import { type BillInput, bill } from '@duskbank/core/study';
import { inputFault } from '../io/fail.ts';
import { noteWarnings, print, printJson } from '../io/output.ts';
import { readInput } from '../io/read.ts';
import { readSite } from '../io/site.ts';
import { xlsx } from '../io/xlsx.ts';
import { yaml } from '../io/yaml.ts';
import { billCsv, billText } from '../render/bill.ts';

interface Options {
  json?: boolean;
  csv?: boolean;
  tariff?: string;
  actual?: string;
  actualFromFile?: boolean;
}

/** `duskbank bill SITE` */
export async function run(sitePath: string, options: Options): Promise<void> {
  const { pastOf, tariffs } = await readSite(
    sitePath,
    options.tariff === undefined ? {} : { insteadOfTariff: options.tariff },
  );
  const report = bill(await beside(pastOf(tariffs[0]!), sitePath, options));
  if (options.json) printJson(report);
  else if (options.csv) print(billCsv(report));
  else print(billText(report));
  if (options.json || options.csv) noteWarnings(report.warnings);
}

/** The past beside what was charged, where that is asked for. */
async function beside(past: BillInput, sitePath: string, { actual, actualFromFile }: Options): Promise<BillInput> {
  if (actual !== undefined && actualFromFile === true)
    throw inputFault({
      code: 'not-together',
      where: { column: '--actual-from-file' },
      received: '--actual beside it',
      expected: 'one of the two',
      hint: 'a file of bills says more: leave out --actual-from-file',
    });
  if (actual !== undefined) return withActual(past, actual);
  if (actualFromFile !== true) return past;
  return { ...past, actualCosts: await loadMeterCosts(sitePath, readInput, { yaml, xlsx }) };
}

/** The past beside the bills of a file. */
async function withActual(past: BillInput, file: string): Promise<BillInput> {
  const { days } = past.series.axis.calendar;
  const within = { firstDay: formatDate(days[0]!), lastDay: formatDate(days.at(-1)!) };
  const { bills: actual, notes: actualNotes, input } = await loadActualBills(file, readInput, { xlsx, within });
  const { inputs = [], assumptions = [] } = past.origin ?? {};
  return { ...past, actual, actualNotes, origin: { inputs: [...inputs, input], assumptions } };
}
