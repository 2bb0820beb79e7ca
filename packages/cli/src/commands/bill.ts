import { recordInput } from '@duskbank/core/site';
import { type BillInput, bill } from '@duskbank/core/study';
import { parseActualBills } from '@duskbank/core/tariff';
import { noteWarnings, print, printJson } from '../io/output.ts';
import { MAX_DOCUMENT_BYTES, readInput } from '../io/read.ts';
import { readSite } from '../io/site.ts';
import { billCsv, billText } from '../render/bill.ts';

interface Options {
  json?: boolean;
  csv?: boolean;
  tariff?: string;
  actual?: string;
}

/** `duskbank bill SITE` */
export async function run(sitePath: string, options: Options): Promise<void> {
  const { pastOf, tariffs } = await readSite(
    sitePath,
    options.tariff === undefined ? {} : { insteadOfTariff: options.tariff },
  );
  const past = pastOf(tariffs[0]!);
  const report = bill(options.actual === undefined ? past : await withActual(past, options.actual));
  if (options.json) printJson(report);
  else if (options.csv) print(billCsv(report));
  else print(billText(report));
  noteWarnings(report.warnings);
}

/** The past beside the bills of a file. */
async function withActual(past: BillInput, file: string): Promise<BillInput> {
  const bytes = readInput(file, MAX_DOCUMENT_BYTES);
  const actual = parseActualBills(new TextDecoder().decode(bytes), file);
  const { inputs = [], assumptions = [] } = past.origin ?? {};
  return { ...past, actual, origin: { inputs: [...inputs, await recordInput('bills', file, bytes)], assumptions } };
}
