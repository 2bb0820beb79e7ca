import type { FindingList } from './findings.ts';
import type { ParseOptions } from './options.ts';
import type { Readings } from './readings.ts';
import { unitOf } from './table/header.ts';
import { findShape } from './table/shape.ts';
import { StampReader } from './table/stamps.ts';
import { eachRow, openTable } from './table/table.ts';
import { clockOf, readWide } from './wide.ts';

/** Fewer dates across than this may be anything; fewer times down are no day. */
const FEWEST_DAYS = 3;
const FEWEST_TIMES = 23;

const DATE = String.raw`(?:\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.]\d{2,4}|\d{1,2}[-/. ]\p{L}{3,9}\.?[-/. ]\d{2,4})`;
/** A line of dates, and below it one that begins with the first time of a day. */
const ACROSS = new RegExp(
  String.raw`^[^\n]{0,60}?(?:[,;\t|]"?\s*${DATE}\s*"?){${FEWEST_DAYS},}[^\n]*\n[\s,;\t|]*"?0{1,2}:\d{2}(?![^,;\t|\n"]*[-/]\d{1,2}[-/])`,
  'mu',
);

/** Whether a text is a table with a column a day: dates along its head, and the time of day before each row. */
export function isAcross(text: string): boolean {
  return ACROSS.test(text.slice(0, 20_000).replace(/\r\n?/g, '\n'));
}

/** Reads a text that {@link isAcross}, as the table with a row a day that it is on its side. */
export function readAcross(text: string, options: ParseOptions, findings: FindingList): Readings | undefined {
  const table = openTable(text, findings);
  if (table === undefined) return undefined;
  const stamps = new StampReader();
  let days: number[] = [];
  let rows: string[][] = [];
  const times: string[] = [];
  let unit = '';
  eachRow(table.text, table.delimiter, table.quoted, (cells, line) => {
    if (days.length === 0) {
      days = cells.flatMap((cell, c) => (cell.trim() !== '' && stamps.readDate(cell) >= 0 ? [c] : []));
      if (days.length < FEWEST_DAYS) {
        days = [];
        unit = unitOf(cells.join(' ')) ?? unit;
        return;
      }
      unit = unitOf(cells.slice(0, days[0]).join(' ')) ?? unit;
      rows = days.map((c) => [cells[c]!]);
      return;
    }
    const time = cells.slice(0, days[0]).find((cell) => clockOf(cell) !== undefined);
    if (time === undefined) {
      if (cells.some((cell) => cell.trim() !== '')) findings.add('row-without-time', 'warning', {}, { line });
      return;
    }
    times.push(`${time} ${unit}`.trim());
    for (const [k, c] of days.entries()) rows[k]!.push(cells[c] ?? '');
  });
  if (times.length < FEWEST_TIMES) {
    findings.add('no-readings', 'error', { why: 'no-day' });
    return undefined;
  }
  const turned = openTable(
    [['date', ...times], ...rows].map((row) => row.map((cell) => `"${cell.trim()}"`).join(table.delimiter)).join('\n'),
    findings,
  );
  const shape = turned && findShape(turned, options.decimal, findings);
  const read = shape && readWide(turned!, shape, options, findings);
  return (
    read && {
      ...read,
      layout: 'a column a day',
      evidence: [`a column a day, ${days.length} of them: lines that are named count these columns`, ...read.evidence],
    }
  );
}
