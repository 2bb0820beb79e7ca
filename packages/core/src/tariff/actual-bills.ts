import Papa from 'papaparse';
import { showCell } from '../input/cell.ts';
import { text as aText, check } from '../input/door.ts';
import { InputError, type InputIssue } from '../input/issue.ts';
import type { ActualBill } from './causes.ts';
import { isDate } from './reconcile.ts';

/**
 * Reads the bills that a household got: CSV with the columns `start`, `end` (first and last day), `total`, and
 * `kWh` where it is known.
 *
 * @throws InputError with every fault, by line and column
 */
export function parseActualBills(text: string, file: string): ActualBill[] {
  check({ text, file }, { text: aText, file: aText });
  const { data: rows, meta } = Papa.parse<string[]>(text.replace(/^\uFEFF/, ''), { skipEmptyLines: 'greedy' });
  const head = (rows[0] ?? []).map((name) => name.trim().toLowerCase());
  const at = (name: string) => head.indexOf(name);
  const issues: InputIssue[] = [];
  for (const name of ['start', 'end', 'total'])
    if (at(name) < 0)
      issues.push({
        code: 'missing-column',
        where: { file, line: 1 },
        received: columnsOf(head),
        expected: `a column "${name}"`,
        hint: 'write a header such as start,end,total,kWh and one row a bill',
      });
  if (issues.length > 0) throw new InputError(issues);
  const bills: ActualBill[] = [];
  const cellsOf = (name: string) => rows.slice(1).map((row) => (at(name) < 0 ? '' : (row[at(name)] ?? '').trim()));
  const totals = numbersOf(cellsOf('total'), meta.delimiter);
  const energies = numbersOf(cellsOf('kwh'), meta.delimiter);
  for (let r = 1; r < rows.length; r++) {
    const cell = (name: string) => (at(name) < 0 ? '' : (rows[r]![at(name)] ?? '').trim());
    const fault = (column: string, code: string, expected: string, hint?: string) =>
      issues.push({
        code,
        where: { file, line: r + 1, column },
        received: showCell(cell(column), column === 'start' || column === 'end' ? 'time' : 'number'),
        expected,
        ...(hint === undefined ? {} : { hint }),
      });
    const total = totals[r - 1]!;
    const energy = energies[r - 1]!;
    for (const column of ['start', 'end'])
      if (!isDate(cell(column))) fault(column, 'not-a-date', 'a date such as "2026-03-31"');
    if (typeof total === 'string') fault('total', 'ambiguous-number', 'an amount with a decimal point', total);
    else if (!Number.isFinite(total)) fault('total', 'not-finite', 'an amount of money');
    if (typeof energy === 'string') fault('kwh', 'ambiguous-number', 'energy in kWh with a decimal point', energy);
    else if (cell('kwh') !== '' && !(energy >= 0)) fault('kwh', 'not-finite', 'energy in kWh, or nothing');
    if (isDate(cell('start')) && isDate(cell('end')) && cell('end') < cell('start'))
      fault('end', 'out-of-range', `a day from ${cell('start')} on`);
    bills.push({
      start: cell('start'),
      end: cell('end'),
      total: Number(total),
      ...(cell('kwh') === '' ? {} : { importKwh: Number(energy) }),
    });
  }
  if (bills.length === 0 && issues.length === 0)
    issues.push({ code: 'no-rows', where: { file }, received: 'a header alone', expected: 'a row for each bill' });
  if (issues.length > 0) throw new InputError(issues.slice(0, 20));
  return bills;
}

/** A header by the columns that are ours: any other name may be anything, a customer's among them. */
function columnsOf(head: readonly string[]): string {
  const ours = head.filter((name) => ['start', 'end', 'total', 'kwh'].includes(name));
  const others = head.length - ours.length;
  if (head.length === 0) return 'nothing';
  return `${ours.length === 0 ? 'no column' : `columns ${ours.map((name) => `"${name}"`).join(', ')}`} that bills have, ${others} of another name`;
}

/** What a written number may be: with a point for the decimals, with a comma, or either. */
type Notation = 'point' | 'comma' | 'both' | 'whole' | 'none';

/**
 * The numbers of a column, NaN where there is none. A comma stands between thousands, or before the decimals of a whole
 * column where it doesn't delimit the cells; where neither is certain, the number's place holds the cure in words.
 */
function numbersOf(cells: readonly string[], delimiter: string): (number | string)[] {
  // A sign of a currency may stand before.
  const digits = cells.map((cell) => /^[^\d.,+-]{0,4}\s*([+-]?[\d.,]+)$/.exec(cell)?.[1] ?? '');
  const notations = digits.map(notationOf);
  const point = notations.includes('point');
  const comma = notations.includes('comma');
  const cure = 'write decimals with a point and leave thousands unmarked, such as 1234.50';
  const delimits = delimiter === ',';
  return digits.map((number, k) => {
    const notation = notations[k]!;
    if (notation === 'none') return Number.NaN;
    if (notation === 'whole') return Number(number);
    if (notation === 'both' && comma && point)
      return `some rows of the column have a decimal point, some a decimal comma: ${cure}`;
    if (notation === 'comma' && delimits) return `the comma delimits the columns of this file: ${cure}`;
    if (notation === 'comma' && point) return `other rows of the column have a decimal point: ${cure}`;
    if (notation === 'comma' || (comma && notation === 'both' && !delimits)) return Number(number.replace(',', '.'));
    if (notation === 'point' || point || delimits) return Number(number.replaceAll(',', ''));
    return `the comma may stand between thousands or before decimals: ${cure}`;
  });
}

function notationOf(number: string): Notation {
  if (/^[+-]?\d+$/.test(number)) return 'whole';
  if (/^[+-]?[1-9]\d{0,2},\d{3}$/.test(number)) return 'both';
  if (/^[+-]?(\d*|\d{1,3}(,\d{3})+)\.\d+$/.test(number) || /^[+-]?\d{1,3}(,\d{3}){2,}$/.test(number)) return 'point';
  return /^[+-]?\d*,\d+$/.test(number) ? 'comma' : 'none';
}
