import type { IntervalSeries } from '@duskbank/core/meter';
import {
  type ActualBill,
  billTariff,
  compileTariff,
  parseActualBills,
  reconcileBills,
  type ServiceFlows,
} from '@duskbank/core/tariff';
import { inputFault } from '../io/fail.ts';
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
  const [{ tariff, options: tariffOptions }] = loaded.tariffs as [(typeof loaded.tariffs)[number]];
  const compileOptions = { ...tariffOptions, account: site.account };
  const compiled = compileTariff(tariff, series.axis, compileOptions);
  const flows = meteredFlows(series, compiled.metering);
  const bill = billTariff(compiled, flows);
  const actual = options.actual === undefined ? undefined : readActualBills(options.actual);
  const reconciliation =
    actual === undefined ? undefined : reconcileBills(tariff, series.axis, compileOptions, flows, actual);
  const warnings = [...loaded.findings.filter((finding) => finding.severity !== 'note'), ...compiled.warnings].map(
    ({ code, message }) => ({ code, message }),
  );
  if (options.json)
    printJson({
      format: 'duskbank.bill/1',
      site: site.name,
      tariff: tariff.name,
      ...bill,
      ...(reconciliation === undefined ? {} : { actual: reconciliation }),
      warnings,
    });
  else if (options.csv) print(billCsv(bill));
  else print(billText(site.name, compiled, bill, reconciliation));
  noteWarnings(warnings);
}

function readActualBills(file: string): ActualBill[] {
  return parseActualBills(new TextDecoder().decode(readInput(file, MAX_DOCUMENT_BYTES)), file);
}

/** What passed the service, as it was metered: nothing is netted that the meter kept apart. */
function meteredFlows(series: IntervalSeries, metering: 'net' | 'gross'): ServiceFlows {
  const { axis, importKwh, exportKwh, loadKwh, solarKwh } = series;
  const none = new Float64Array(axis.intervals);
  const need = (what: string, hint: string) =>
    inputFault({
      code: 'missing-channel',
      where: { path: ['meter', 'files'] },
      received: `the channels ${['import', 'export', 'load', 'solar'].filter((name) => series[`${name}Kwh` as 'importKwh'] !== undefined).join(', ')}`,
      expected: what,
      hint,
    });
  for (const values of [importKwh, exportKwh, loadKwh, solarKwh]) refuseGaps(values);
  if (metering === 'gross') {
    if (solarKwh !== undefined && loadKwh !== undefined) return { importKwh: loadKwh, exportKwh: solarKwh };
    if (solarKwh !== undefined && importKwh !== undefined) {
      const sold = exportKwh ?? none;
      return { importKwh: importKwh.map((kwh, i) => Math.max(0, kwh - sold[i]! + solarKwh[i]!)), exportKwh: solarKwh };
    }
    if (loadKwh !== undefined || importKwh !== undefined) return { importKwh: loadKwh ?? importKwh!, exportKwh: none };
    throw need('load and solar: a buy-all tariff bills both', 'add the solar meter’s file');
  }
  if (importKwh !== undefined) return { importKwh, exportKwh: exportKwh ?? none };
  if (loadKwh === undefined) throw need('import, or load', 'add the file or the column that holds it');
  const solar = solarKwh ?? none;
  return {
    importKwh: loadKwh.map((kwh, i) => Math.max(0, kwh - solar[i]!)),
    exportKwh: loadKwh.map((kwh, i) => Math.max(0, solar[i]! - kwh)),
  };
}

function refuseGaps(values: Float64Array | undefined): void {
  const gaps = values?.reduce((count, kwh) => count + (Number.isNaN(kwh) ? 1 : 0), 0) ?? 0;
  if (gaps > 0)
    throw inputFault({
      code: 'gap',
      where: { path: ['meter'] },
      received: `${gaps} intervals without a value`,
      expected: 'a value in every interval',
      hint: 'long gaps are filled only when asked for: raise "meter.repair.maxGapHours", or cut the data to a span without them',
    });
}
