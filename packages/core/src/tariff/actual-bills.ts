import Papa from 'papaparse';
import { InputError, type InputIssue } from '../input/index.ts';
import type { ActualBill } from './causes.ts';
import { isDate } from './reconcile.ts';

/**
 * Reads the bills that a household got: CSV with the columns `start`, `end` (first and last day), `total`, and
 * `kWh` where it is known.
 *
 * @throws InputError with every fault, by line and column
 */
export function parseActualBills(text: string, file: string): ActualBill[] {
  const rows = Papa.parse<string[]>(text.replace(/^\uFEFF/, ''), { skipEmptyLines: 'greedy' }).data;
  const head = (rows[0] ?? []).map((name) => name.trim().toLowerCase());
  const at = (name: string) => head.indexOf(name);
  const issues: InputIssue[] = [];
  for (const name of ['start', 'end', 'total'])
    if (at(name) < 0)
      issues.push({
        code: 'missing-column',
        where: { file, line: 1 },
        received: head.length === 0 ? 'nothing' : `the columns ${head.join(', ')}`,
        expected: `a column "${name}"`,
        hint: 'write a header such as start,end,total,kWh and one row a bill',
      });
  if (issues.length > 0) throw new InputError(issues);
  const bills: ActualBill[] = [];
  for (let r = 1; r < rows.length; r++) {
    const cell = (name: string) => (at(name) < 0 ? '' : (rows[r]![at(name)] ?? '').trim());
    const fault = (column: string, code: string, expected: string) =>
      issues.push({ code, where: { file, line: r + 1, column }, received: JSON.stringify(cell(column)), expected });
    for (const column of ['start', 'end'])
      if (!isDate(cell(column))) fault(column, 'not-a-date', 'a date such as "2026-03-31"');
    const number = (column: string) => {
      // A sign of a currency may stand before, commas between thousands.
      const match = /^[^\d.,+-]{0,4}\s*([+-]?[\d,]*\.?\d+)$/.exec(cell(column));
      return match === null ? Number.NaN : Number(match[1]!.replaceAll(',', ''));
    };
    if (!Number.isFinite(number('total'))) fault('total', 'not-finite', 'an amount of money');
    if (cell('kwh') !== '' && !(number('kwh') >= 0)) fault('kwh', 'not-finite', 'energy in kWh, or nothing');
    if (isDate(cell('start')) && isDate(cell('end')) && cell('end') < cell('start'))
      fault('end', 'out-of-range', `a day from ${cell('start')} on`);
    bills.push({
      start: cell('start'),
      end: cell('end'),
      total: number('total'),
      ...(cell('kwh') === '' ? {} : { importKwh: number('kwh') }),
    });
  }
  if (bills.length === 0 && issues.length === 0)
    issues.push({ code: 'no-rows', where: { file }, received: 'a header alone', expected: 'a row for each bill' });
  if (issues.length > 0) throw new InputError(issues.slice(0, 20));
  return bills;
}
