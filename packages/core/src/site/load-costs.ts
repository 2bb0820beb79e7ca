import { callable, check, optional, record, text } from '../input/door.ts';
import { InputError, type InputIssue } from '../input/index.ts';
import { withLines } from '../input/source.ts';
import { faultsOf } from '../meter/index.ts';
import { type MoneyColumn, openIntervals, readMoney, readToldBills, type ToldBill } from '../meter/inside.ts';
import { parseSite } from './parse.ts';
import { beside, folderOf } from './paths.ts';
import { type Decoders, namedBy, type ReadFile, Source } from './source.ts';

/** What the meter files of a site say that their energy cost. */
export interface MeterCosts {
  /** Money of each step, NaN where a file has none. */
  readonly columns: readonly MoneyColumn[];
  /** Whole bills, as an ESPI feed may tell them: they count before columns, which leave out what isn't charged by the kWh. */
  readonly bills: readonly ToldBill[];
}

/**
 * Reads what a site's meter files say that their energy cost: a column of a table, the costs of an ESPI feed's readings and
 * the bills of its summaries, by the labels and options that their energy is read by. Of files that say nothing of it there is
 * nothing; where none says anything, or several columns may be it, that is a fault.
 *
 * @throws InputError `no-cost-column` | `several-cost-columns`, and what stands in the way of reading the files
 */
export async function loadMeterCosts(path: string, read: ReadFile, options: Decoders = {}): Promise<MeterCosts> {
  check(
    { path, read, options },
    { path: text, read: callable, options: record<Decoders>({ yaml: optional(callable), xlsx: optional(callable) }) },
  );
  const source = new Source(read, options);
  const document = await source.document(path, 'site');
  const site = withLines(document, () => parseSite(document.value, path));
  const columns: MoneyColumn[] = [];
  const bills: ToldBill[] = [];
  const without: InputIssue[] = [];
  for (const [k, entry] of site.meter.files.entries()) {
    const { path: named, span, ...stated } = typeof entry === 'string' ? { path: entry } : entry;
    const file = beside(folderOf(path), named);
    const bytes = await namedBy(document, ['meter', 'files', k], () => source.data(file, 'meter', named));
    const { data, tables } = await openIntervals(bytes, { zone: site.zone, ...stated }, source.xlsx);
    if (tables.length === 0) throw new InputError(faultsOf(file, data.findings));
    for (const { input, options: asRead } of tables) {
      bills.push(...readToldBills(input, site.zone));
      const found = readMoney(input, 'cost', asRead);
      const faults = faultsOf(file, found.findings);
      if (faults.length > 0) throw new InputError(faults);
      if (found.column !== undefined) columns.push(found.column);
      else if (found.why === 'several-columns' && bills.length === 0)
        throw new InputError([withoutColumn(file, 'several-cost-columns')]);
      else without.push(withoutColumn(file, 'no-cost-column'));
    }
  }
  if (columns.length === 0 && bills.length === 0) throw new InputError(without);
  return { columns, bills };
}

function withoutColumn(file: string, code: 'no-cost-column' | 'several-cost-columns'): InputIssue {
  return {
    code,
    where: { file },
    received: code === 'no-cost-column' ? 'no column that is named as a cost' : 'several columns of costs',
    expected: 'one column of costs beside the energy, such as "COST", or the costs or bills of an ESPI feed',
    hint: 'write the bills themselves into a file, and give it with --actual',
  };
}
