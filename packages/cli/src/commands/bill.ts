import { billPast } from '@duskbank/core/study';
import { type ActualBill, parseActualBills, reconcileBills } from '@duskbank/core/tariff';
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
  const loaded = await readSite(sitePath, options.tariff === undefined ? {} : { insteadOfTariff: options.tariff });
  const { site, series } = loaded;
  const { tariff, options: tariffOptions, offered } = loaded.tariffs[0]!;
  const past = billPast({ site, series, tariff, tariffOptions, offered });
  const actual = options.actual === undefined ? undefined : readActualBills(options.actual);
  const reconciliation =
    actual === undefined
      ? undefined
      : reconcileBills(tariff, series.axis, { ...tariffOptions, account: site.account }, past.flows, actual);
  const { bill, baseline } = past;
  const warnings = [...loaded.findings.filter((finding) => finding.severity !== 'note'), ...past.warnings].map(
    ({ code, message }) => ({ code, message }),
  );
  if (options.json)
    printJson({
      format: 'duskbank.bill/1',
      site: site.name,
      tariff: tariff.name,
      ...bill,
      baseline,
      ...(reconciliation === undefined ? {} : { actual: reconciliation }),
      warnings,
    });
  else if (options.csv) print(billCsv(bill));
  else print(billText(site.name, past, reconciliation));
  noteWarnings(warnings);
}

function readActualBills(file: string): ActualBill[] {
  return parseActualBills(new TextDecoder().decode(readInput(file, MAX_DOCUMENT_BYTES)), file);
}
