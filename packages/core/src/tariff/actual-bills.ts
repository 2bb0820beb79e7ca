import Papa from 'papaparse';
import { aDate, civilDayOfDate } from '../axis/civil-day.ts';
import { showCell } from '../input/cell.ts';
import { text as aText, check, optional, record } from '../input/door.ts';
import { InputError, type InputIssue } from '../input/issue.ts';
import type { XlsxDecoder } from '../meter/index.ts';
import { plainTable, wordsOf } from '../meter/inside.ts';
import { numbersOf } from './actual-amounts.ts';
import { columnsOf, type Field, headOf } from './actual-columns.ts';
import { columnsOfCredit, creditKind } from './actual-credits.ts';
import { datesOf, datesOfCell, isShortMonth, withWholeYears } from './actual-dates.ts';
import { electricityAlone, serviceColumn } from './actual-services.ts';
import type { ActualBill } from './causes.ts';
import type { DataDays } from './yearless-dates.ts';

/** The bills of a file, and what was read into it. */
export interface ReadBills {
  readonly bills: readonly ActualBill[];
  readonly notes: readonly string[];
}

/** What {@link parseActualBills} takes for the days of the data. */
export const someDataDays = record<DataDays>({ firstDay: aDate, lastDay: aDate });

/**
 * Reads the bills that a household got, as it copies them from paper or a portal: CSV with a column for the first and one
 * for the last day (or one for both), one for the amount, and one for kWh where they are known. Columns are found by their
 * names, in several languages; dates may be written in any order that the column shows, amounts with a sign of a currency,
 * with thousands parted, with a minus behind or `CR` for a credit. Rows of sums, which have no dates, are passed over, and so are rows
 * of another service, such as gas, where a column says which is which.
 *
 * @param within first and last day of the data: dates that state no year are read where one alone puts them within these
 * @throws InputError with every fault, by line and column
 */
export function parseActualBills(text: string, file: string, within?: DataDays): ReadBills {
  check({ text, file, within }, { text: aText, file: aText, within: optional(someDataDays) });
  return billsIn(text, file, within);
}

/**
 * {@link parseActualBills} of any file that holds a table: text in the encodings of meter files, of a spreadsheet the sheet
 * with bills.
 */
export async function readActualBills(
  bytes: Uint8Array,
  file: string,
  xlsx: XlsxDecoder | undefined,
  within: DataDays | undefined,
): Promise<ReadBills> {
  const table = await plainTable(bytes, file, xlsx, ({ text }) => {
    try {
      const { data } = rowsOf(text);
      return columnsOf(headOf(data), file, serviceColumn(data)).at.total !== undefined;
    } catch (error) {
      if (error instanceof InputError) return false;
      throw error;
    }
  });
  return billsIn(table.text, file, within);
}

const rowsOf = (text: string) => Papa.parse<string[]>(text.replace(/^\uFEFF/, ''), { skipEmptyLines: 'greedy' });

function billsIn(text: string, file: string, within: DataDays | undefined): ReadBills {
  const { data: rows, meta } = rowsOf(text);
  const service = serviceColumn(rows);
  const { at, kwhTimes, notes } = columnsOf(headOf(rows), file, service);
  const issues: InputIssue[] = [];
  const all = rows
    .slice(1)
    .map((row, k) => ({ row, line: k + 2 }))
    .filter(({ row }) => !isSum(row, at));
  const { body, notes: others } = electricityAlone(
    all,
    service,
    { total: at.total!, days: [at.start, at.end, at.period].filter((c) => c !== undefined) },
    meta.delimiter,
    file,
  );
  const cellOf = (row: readonly string[], field: Field) => (row[at[field] ?? -1] ?? '').trim();
  const cellsOf = (field: Field) => body.map(({ row }) => cellOf(row, field));
  const periods = withWholeYears(cellsOf('period'));
  const ends = body.map(({ row }, k): [string, string] => {
    return at.period === undefined ? [cellOf(row, 'start'), cellOf(row, 'end')] : datesOfCell(periods[k]!);
  });
  for (const [k, end] of ends.entries()) {
    // A payment has one day.
    if (at.period === undefined && end[1] === '' && /^\D*[-−(]|[-−]$|\bcr\.?$/i.test(cellOf(body[k]!.row, 'total')))
      end[1] = end[0];
  }
  const { dates, notes: dated } = datesOf(ends, file, within);
  const totals = numbersOf(cellsOf('total'), meta.delimiter);
  const energies = numbersOf(
    cellsOf('kwh').map((cell) => cell.replace(/\s*[km]?wh$/i, '')),
    meta.delimiter,
  );
  // A unit in the cell goes before that of the head.
  const timesOf = (cell: string) => (/mwh$/i.test(cell) ? 1000 : /kwh$/i.test(cell) ? 1 : kwhTimes);
  const taken = new Set(Object.values(at));
  const credits = columnsOfCredit(headOf(rows), new Set([service, ...taken])).map((c) =>
    numbersOf(
      body.map(({ row }) => (row[c] ?? '').trim()),
      meta.delimiter,
    ),
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
      } else if (date === undefined && at.period !== undefined && column === 'end' && cell === '') {
        const months = 'a first and a last day, or a month with its year';
        const oneDay =
          'write both days, such as 2026-03-01 to 2026-03-31; where a spreadsheet made "Mar 26" a day of March, write 2026-03';
        if (start !== undefined) fault('period', ends[k]![0], 'not-a-date', months, oneDay);
      } else if (date === undefined && cell === '')
        fault(
          column,
          cell,
          'not-a-date',
          'a date such as "2026-03-31"',
          'write both days of each bill, or leave out a row that is none',
        );
      else if (date === undefined) fault(column, cell, 'not-a-date', 'a date such as "2026-03-31"');
    const total = totals[k]!;
    const energy = energies[k]!;
    const totalCell = cellOf(row, 'total');
    const energyCell = cellOf(row, 'kwh');
    if (typeof total === 'string')
      fault('total', totalCell, 'ambiguous-number', 'an amount with a decimal point', total);
    else if (!Number.isFinite(total))
      fault(
        'total',
        totalCell,
        'not-finite',
        'an amount of money',
        totalCell === '' ? 'write what the bill charges, or leave out its row' : undefined,
      );
    if (typeof energy === 'string')
      fault('kwh', energyCell, 'ambiguous-number', 'energy in kWh with a decimal point', energy);
    else if (energyCell !== '' && !(energy >= 0)) fault('kwh', energyCell, 'not-finite', 'energy in kWh, or nothing');
    if (start !== undefined && end !== undefined && end < start)
      fault('end', ends[k]![1], 'out-of-range', `a day from ${start} on`, FOUR_DIGITS);
    else if (start !== undefined && end !== undefined && civilDayOfDate(end) - civilDayOfDate(start) >= MOST_DAYS)
      fault('end', ends[k]![1], 'out-of-range', `a day within three years of ${start}`, FOUR_DIGITS);
    const kind = Number(total) < 0 ? creditKind(row.filter((_, c) => !taken.has(c))) : undefined;
    // Written with a minus or without: a credit lowers the bill.
    const credited = credits.reduce((sum, column) => sum - (Math.abs(Number(column[k])) || 0), 0);
    bills.push({
      start: start ?? '',
      end: end ?? '',
      total: Number(total),
      ...(energyCell === '' ? {} : { importKwh: Number(energy) * timesOf(energyCell) }),
      ...(kind === undefined ? {} : { kind }),
      ...(credited === 0 ? {} : { credits: credited }),
    });
  }
  if (bills.length === 0 && issues.length === 0)
    issues.push({ code: 'no-rows', where: { file }, received: 'a header alone', expected: 'a row for each bill' });
  if (issues.length > 0) throw new InputError(issues.slice(0, 20));
  return { bills, notes: [...notes, ...others, ...dated] };
}

/** No statement runs over more days; dates that are read in the wrong order do. */
const MOST_DAYS = 1100;
const FOUR_DIGITS = 'where day, month and year may be exchanged, write the year first, with four digits';

/** A row of sums: a text where dates should stand, which says so, or no dates at all. */
function isSum(row: readonly string[], at: Partial<Record<Field, number>>): boolean {
  const cells = ([at.start, at.end, at.period] as const).flatMap((c) => (c === undefined ? [] : [row[c] ?? '']));
  return (
    cells.every((cell) => !/\d/.test(cell)) &&
    row.some((cell) => /\b(?:total|sum|average|mean)\b/.test(wordsOf(cell).join(' ')))
  );
}
