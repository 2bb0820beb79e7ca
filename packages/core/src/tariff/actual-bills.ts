import Papa from 'papaparse';
import { civilDayOf, dateOfCivilDay, formatDate } from '../axis/civil-day.ts';
import { showCell } from '../input/cell.ts';
import { text as aText, check } from '../input/door.ts';
import { InputError, type InputIssue } from '../input/issue.ts';
import { monthOf, StampReader, wordsOf } from '../meter/inside.ts';
import type { ActualBill } from './causes.ts';

/** What a column of a file of bills may hold. */
type Field = 'start' | 'end' | 'period' | 'total' | 'kwh';

/**
 * How the columns may be called, the surest name first; names of other languages are told in English before. Of two columns
 * that fit a name equally well none is taken.
 */
const NAMES: Readonly<Record<Field, readonly RegExp[]>> = {
  start: [/^start$/, /\b(?:start|from|begin(?:s|ning)?|first)\b/],
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
  const { data: rows, meta } = Papa.parse<string[]>(text.replace(/^\uFEFF/, ''), { skipEmptyLines: 'greedy' });
  const head = (rows[0] ?? []).map((name) => wordsOf(name).join(' '));
  const at = columnsOf(head, file);
  const issues: InputIssue[] = [];
  const body = rows
    .slice(1)
    .map((row, k) => ({ row, line: k + 2 }))
    .filter(({ row }) => !isSum(row, at));
  const cellOf = (row: readonly string[], field: Field) => (row[at[field] ?? -1] ?? '').trim();
  const cellsOf = (field: Field) => body.map(({ row }) => cellOf(row, field));
  const ends = body.map(({ row }): [string, string] => {
    if (at.period === undefined) return [cellOf(row, 'start'), cellOf(row, 'end')];
    const month = monthOfCell(cellOf(row, 'period'));
    if (month !== undefined) return month;
    const both = BOTH_DATES.exec(cellOf(row, 'period'));
    return both === null ? [cellOf(row, 'period'), ''] : [both[1]!.trim(), both[2]!.trim()];
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
        received: showCell(received, column === 'start' || column === 'end' ? 'time' : 'number'),
        expected,
        ...(hint === undefined ? {} : { hint }),
      });
    const [start, end] = dates[k]!;
    for (const [column, date, cell] of [
      ['start', start, ends[k]![0]],
      ['end', end, ends[k]![1]],
    ] as const)
      if (date === undefined) fault(column, cell, 'not-a-date', 'a date such as "2026-03-31"');
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

/** Two dates in one cell. */
const BOTH_DATES = /^(.*\d.*?)\s*(?:\s[-–—]\s|–|—|\bto\b|\bthrough\b|\bbis\b|\bau\b|\bal?\b|\btot\b)\s*(.*\d.*)$/i;

/** A month alone, as bills of whole months print it: `March 2024`, `03/2024`, `2024-03`. */
const MONTH = /^(?:([\p{L}\p{M}]{3,12})\.?[ -]+|(\d{1,2})[/.-])(\d{4})$|^(\d{4})[/-](\d{1,2})$/u;

/** First and last day of a month that stands alone in a cell. */
function monthOfCell(cell: string): [string, string] | undefined {
  const match = MONTH.exec(cell);
  if (match === null) return undefined;
  const [, name, number, yearBehind, yearFirst, numberBehind] = match;
  const month = name === undefined ? Number(number ?? numberBehind) : monthOf(name);
  const year = Number(yearBehind ?? yearFirst);
  if (!(month >= 1 && month <= 12)) return undefined;
  const next = month === 12 ? civilDayOf(year + 1, 1, 1) : civilDayOf(year, month + 1, 1);
  return [formatDate({ year, month, dayOfMonth: 1 }), formatDate(dateOfCivilDay(next - 1))];
}

/** Days that a bill may have: a final one of a few, or a whole year. */
const BILL_DAYS = { least: 5, most: 400 };

/**
 * First and last days as dates; undefined where a cell holds none. One order of day and month for all of them: dates with
 * points have the day first; others are read so that bills are as long as bills are and follow one another.
 */
function datesOf(ends: readonly (readonly [string, string])[], file: string): [string?, string?][] {
  const stamps = new StampReader();
  const ids = ends.map(([start, end]) => [stamps.readDate(start), stamps.readDate(end)] as const);
  const under = (order: 'day-first' | 'month-first' | undefined) => stamps.settle(order, Number.NaN, ids.flat());
  const dotted = ends.flat().some((cell) => /^\d{1,2}\.\d{1,2}\.\d{2,4}$/.test(cell));
  const orders = (['day-first', 'month-first'] as const).map((order) => {
    const { civilDays } = under(order);
    const days = ids.map(([start, end]) => [civilDays[start] ?? Number.NaN, civilDays[end] ?? Number.NaN] as const);
    return {
      order,
      days,
      exists: days.flat().every((day) => !Number.isNaN(day)),
      usual: days.every(([start, end]) => end - start + 1 >= BILL_DAYS.least && end - start + 1 <= BILL_DAYS.most),
      following: days.filter(([start], k) => k > 0 && start - days[k - 1]![1] >= 0 && start - days[k - 1]![1] <= 1)
        .length,
    };
  });
  const [dayFirst, monthFirst] = orders as [(typeof orders)[0], (typeof orders)[0]];
  const same = dayFirst.days.flat().every((day, k) => Object.is(day, monthFirst.days.flat()[k]));
  const chosen = () => {
    if (same || dotted || !(dayFirst.exists && monthFirst.exists))
      return same || dotted || dayFirst.exists
        ? 'day-first'
        : monthFirst.exists
          ? 'month-first'
          : under(undefined).order;
    if (dayFirst.usual !== monthFirst.usual) return dayFirst.usual ? 'day-first' : 'month-first';
    if (dayFirst.usual && dayFirst.following !== monthFirst.following)
      return dayFirst.following > monthFirst.following ? 'day-first' : 'month-first';
    throw new InputError([
      {
        code: 'ambiguous-date',
        where: { file },
        received: 'dates whose day and month can’t be told apart',
        expected: 'dates such as "2026-03-31"',
        hint: 'write the year first',
      },
    ]);
  };
  const order = chosen();
  const { civilDays } = under(order === 'year-first' ? undefined : order);
  const dateOf = (id: number) => {
    const day = civilDays[id];
    return day === undefined || Number.isNaN(day) ? undefined : formatDate(dateOfCivilDay(day));
  };
  return ids.map(([start, end]) => [dateOf(start), dateOf(end)]);
}

/** What a written number may be: with a point for the decimals, with a comma, or either. */
type Notation = 'point' | 'comma' | 'comma-thousands' | 'both' | 'whole' | 'none';

/** An amount as bills print it: a sign, a currency before or behind, a minus behind, brackets, `CR` for a credit. */
const AMOUNT =
  /^(\()?\s*([+\-−])?\s*[^\d.,()+\-−]{0,4}\s*([+\-−])?\s*(\d[\d.,'’\s\u00a0\u202f]*|[.,]\d+)\s*([-−])?\s*([^\d()]{0,4}?)\s*(\))?$/u;

/** The digits of an amount, with a minus where it is a credit; '' where it is none. */
function digitsOf(cell: string): string {
  const match = AMOUNT.exec(cell.trim());
  if (match === null) return '';
  const [, open, before, between, digits, behind, unit, close] = match;
  const signs = [before, between, behind].filter((sign) => sign !== undefined && sign !== '+').length;
  const credit = signs + (open === undefined ? 0 : 1) + (/^cr\.?$/i.test(unit ?? '') ? 1 : 0);
  if (credit > 1 || (open === undefined) !== (close === undefined)) return '';
  // Spaces and apostrophes stand between thousands alone.
  const plain = digits!.trim().replace(/(?<=\d)['’\s\u00a0\u202f](?=\d{3}(?!\d))/g, '');
  return (credit === 1 ? '-' : '') + plain;
}

/**
 * The numbers of a column, NaN where there is none. A comma stands between thousands, or before the decimals of a whole
 * column where it doesn't delimit the cells; where neither is certain, the number's place holds the cure in words.
 */
function numbersOf(cells: readonly string[], delimiter: string): (number | string)[] {
  const digits = cells.map(digitsOf);
  const notations = digits.map(notationOf);
  const point = notations.includes('point');
  const comma = notations.includes('comma') || notations.includes('comma-thousands');
  const cure = 'write decimals with a point and leave thousands unmarked, such as 1234.50';
  const delimits = delimiter === ',';
  return digits.map((number, k) => {
    const notation = notations[k]!;
    if (notation === 'none') return Number.NaN;
    if (notation === 'whole') return Number(number);
    if (notation === 'both' && comma && point)
      return `some rows of the column have a decimal point, some a decimal comma: ${cure}`;
    if (notation === 'comma-thousands' && !point) return Number(number.replaceAll('.', '').replace(',', '.'));
    if (notation === 'comma-thousands') return `other rows of the column have a decimal point: ${cure}`;
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
  if (/^[+-]?\d{1,3}(\.\d{3})+,\d+$/.test(number)) return 'comma-thousands';
  if (/^[+-]?(\d*|\d{1,3}(,\d{3})+)\.\d+$/.test(number) || /^[+-]?\d{1,3}(,\d{3}){2,}$/.test(number)) return 'point';
  return /^[+-]?\d*,\d+$/.test(number) ? 'comma' : 'none';
}
