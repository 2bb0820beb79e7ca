import Papa from 'papaparse';
import { showCell } from '../input/cell.ts';
import { text as aText, check } from '../input/door.ts';
import { InputError, type InputIssue } from '../input/issue.ts';
import type { XlsxDecoder } from '../meter/index.ts';
import { plainTable, wordsOf } from '../meter/inside.ts';
import { numbersOf } from './actual-amounts.ts';
import { datesOf, datesOfCell, isShortMonth, withWholeYears } from './actual-dates.ts';
import type { ActualBill } from './causes.ts';

/** What a column of a file of bills may hold. */
type Field = 'start' | 'end' | 'period' | 'total' | 'kwh';

/**
 * How the columns may be called, the surest name first; names of other languages are told in English before. Of two columns
 * that fit a name equally well none is taken.
 */
const NAMES: Readonly<Record<Field, readonly RegExp[]>> = {
  start: [/^start$/, /\b(?:start|from|begin(?:s|ning)?|first)\b/, /\bvom\b/],
  end: [/^end$/, /\b(?:end|to|through|until|last)\b/],
  period: [/\b(?:period|dates|days|service|interval|month|\w*zeitraum|\w*periode)\b/],
  total: [
    /^total$/,
    /\btotal\b.*\b(?:due|cost|amount|charges?|bill)\b|\b(?:amount|bill|charges?|cost) total\b/,
    /\b(?:amount|current charges|charged?)\b/,
    /\b(?:total|cost|charges|bill|due|paid|usd|eur)\b|\$/,
  ],
  kwh: [/^kwh$/, /\bkwh\b/, /\b(?:usage|consumption|energy|used)\b/],
};

/**
 * Reads the bills that a household got, as it copies them from paper or a portal: CSV with a column for the first and one
 * for the last day (or one for both), one for the amount, and one for kWh where they are known. Columns are found by their
 * names, in several languages; dates may be written in any order that the column shows, amounts with a sign of a currency,
 * with thousands parted, with a minus behind or `CR` for a credit. Rows of sums, which have no dates, are passed over.
 *
 * @throws InputError with every fault, by line and column
 */
export function parseActualBills(text: string, file: string): ActualBill[] {
  check({ text, file }, { text: aText, file: aText });
  return billsIn(text, file);
}

/**
 * {@link parseActualBills} of any file that holds a table: text in the encodings of meter files, of a spreadsheet the sheet
 * with bills.
 */
export async function readActualBills(
  bytes: Uint8Array,
  file: string,
  xlsx: XlsxDecoder | undefined,
): Promise<ActualBill[]> {
  const table = await plainTable(bytes, file, xlsx, ({ text }) => {
    try {
      return columnsOf(headOf(rowsOf(text).data), file).total !== undefined;
    } catch (error) {
      if (error instanceof InputError) return false;
      throw error;
    }
  });
  return billsIn(table.text, file);
}

const rowsOf = (text: string) => Papa.parse<string[]>(text.replace(/^\uFEFF/, ''), { skipEmptyLines: 'greedy' });

const headOf = (rows: readonly (readonly string[])[]) => (rows[0] ?? []).map((name) => wordsOf(name).join(' '));

function billsIn(text: string, file: string): ActualBill[] {
  const { data: rows, meta } = rowsOf(text);
  const at = columnsOf(headOf(rows), file);
  const issues: InputIssue[] = [];
  const body = rows
    .slice(1)
    .map((row, k) => ({ row, line: k + 2 }))
    .filter(({ row }) => !isSum(row, at));
  const cellOf = (row: readonly string[], field: Field) => (row[at[field] ?? -1] ?? '').trim();
  const cellsOf = (field: Field) => body.map(({ row }) => cellOf(row, field));
  const periods = withWholeYears(cellsOf('period'));
  const ends = body.map(({ row }, k): [string, string] => {
    return at.period === undefined ? [cellOf(row, 'start'), cellOf(row, 'end')] : datesOfCell(periods[k]!);
  });
  const dates = datesOf(ends, file);
  const totals = numbersOf(cellsOf('total'), meta.delimiter);
  const energies = numbersOf(
    cellsOf('kwh').map((cell) => cell.replace(/\s*kwh$/i, '')),
    meta.delimiter,
  );
  const bills: ActualBill[] = [];
  for (const [k, { row, line }] of body.entries()) {
    const fault = (column: string, received: string, code: string, expected: string, hint?: string) =>
      issues.push({
        code,
        where: { file, line, column },
        received: showCell(received, column === 'total' || column === 'kwh' ? 'number' : 'time'),
        expected,
        ...(hint === undefined ? {} : { hint }),
      });
    const [start, end] = dates[k]!;
    for (const [column, date, cell] of [
      ['start', start, ends[k]![0]],
      ['end', end, ends[k]![1]],
    ] as const)
      if (date === undefined && at.period !== undefined && isShortMonth(ends[k]![0])) {
        // One cell, one fault.
        if (column === 'start')
          fault('period', cell, 'ambiguous-date', 'a month with its whole year', 'write it as 2024-03, or both dates');
      } else if (date === undefined) fault(column, cell, 'not-a-date', 'a date such as "2026-03-31"');
    const total = totals[k]!;
    const energy = energies[k]!;
    const totalCell = cellOf(row, 'total');
    const energyCell = cellOf(row, 'kwh');
    if (typeof total === 'string')
      fault('total', totalCell, 'ambiguous-number', 'an amount with a decimal point', total);
    else if (!Number.isFinite(total)) fault('total', totalCell, 'not-finite', 'an amount of money');
    if (typeof energy === 'string')
      fault('kwh', energyCell, 'ambiguous-number', 'energy in kWh with a decimal point', energy);
    else if (energyCell !== '' && !(energy >= 0)) fault('kwh', energyCell, 'not-finite', 'energy in kWh, or nothing');
    if (start !== undefined && end !== undefined && end < start)
      fault('end', ends[k]![1], 'out-of-range', `a day from ${start} on`);
    bills.push({
      start: start ?? '',
      end: end ?? '',
      total: Number(total),
      ...(energyCell === '' ? {} : { importKwh: Number(energy) }),
    });
  }
  if (bills.length === 0 && issues.length === 0)
    issues.push({ code: 'no-rows', where: { file }, received: 'a header alone', expected: 'a row for each bill' });
  if (issues.length > 0) throw new InputError(issues.slice(0, 20));
  return bills;
}

/** Energy that goes out: a bill's kWh are those that come in. */
const SOLD = /\bexport|\bto grid\b|\bfeed ?in\b|\bsold\b|\breturned\b|\bsurplus\b/;

/** Which column is which, by its name; a fault where one that is needed isn't there, or two may be it. */
function columnsOf(head: readonly string[], file: string): Partial<Record<Field, number>> {
  const at: Partial<Record<Field, number>> = {};
  const issues: InputIssue[] = [];
  const taken = new Set<number>();
  const find = (field: Field) => {
    for (const name of NAMES[field]) {
      const fits = head.flatMap((words, c) =>
        !taken.has(c) && name.test(words) && !(field === 'kwh' && SOLD.test(words)) ? [c] : [],
      );
      if (fits.length === 0) continue;
      if (fits.length > 1 && (field === 'total' || field === 'kwh'))
        issues.push({
          code: 'several-columns',
          where: { file, line: 1 },
          received: `${fits.length} columns that may be the ${field === 'total' ? 'amount' : 'energy'} of a bill`,
          expected: `one column "${field === 'kwh' ? 'kWh' : field}"`,
          hint: `call the one that is meant "${field === 'kwh' ? 'kWh' : field}"`,
        });
      at[field] = fits[0]!;
      taken.add(fits[0]!);
      return;
    }
  };
  // The energy first: "total kWh" is no amount.
  for (const field of ['kwh', 'start', 'end', 'total'] as const) find(field);
  if (at.start === undefined || at.end === undefined) find('period');
  const missing = (['start', 'end', 'total'] as const).filter(
    (field) => at[field] === undefined && (field === 'total' || at.period === undefined),
  );
  for (const field of missing)
    issues.push({
      code: 'missing-column',
      where: { file, line: 1 },
      received: `${head.length === 0 ? 'nothing' : counted(Object.keys(at))}, ${head.length - Object.keys(at).length} of another name`,
      expected: `a column "${field}"`,
      hint: 'write a header such as start,end,total,kWh and one row a bill',
    });
  if (issues.length > 0) throw new InputError(issues);
  return at;
}

/** A header by the columns that are ours: any other name may be anything, a customer's among them. */
function counted(fields: readonly string[]): string {
  return fields.length === 0 ? 'no column that bills have' : `columns for ${fields.join(', ')}`;
}

/** A row of sums: a text where dates should stand, which says so, or no dates at all. */
function isSum(row: readonly string[], at: Partial<Record<Field, number>>): boolean {
  const cells = ([at.start, at.end, at.period] as const).flatMap((c) => (c === undefined ? [] : [row[c] ?? '']));
  return (
    cells.every((cell) => !/\d/.test(cell)) &&
    row.some((cell) => /\b(?:total|sum|average|mean)\b/.test(wordsOf(cell).join(' ')))
  );
}
