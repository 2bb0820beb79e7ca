import Papa from 'papaparse';
import type { FindingList } from '../findings.ts';
import { classify } from './cells.ts';
import { type DatesAbove, fillDates, findDatesAbove } from './dates-above.ts';
import { type DayBlocks, fillDayBlocks, findDayBlocks } from './day-blocks.ts';
import { holdsMonths } from './months.ts';
import { StampReader } from './stamps.ts';

/** Longest line that a meter file may have, characters: 288 columns take some 6,000. */
const MAX_LINE = 200_000;

/** Lines looked at to recognise a table. */
const SAMPLE_LINES = 400;

/** Longest cell that is looked at whole, characters: no time, number or name is longer. */
const LONGEST_CELL = 200;

const DELIMITERS = [',', ';', '\t', '|'];
const PIECE = 1 << 16;

/** A delimited text, cut into rows on demand. */
export interface Table {
  readonly text: string;
  readonly delimiter: string;
  readonly quoted: boolean;
  /** Lines of the text, an upper bound of its rows. */
  readonly lines: number;
  /** First rows, with their line numbers. */
  readonly sample: readonly Row[];
  /** Where dates are printed once a day, in a column or on a line of their own; rows come with theirs. */
  readonly datesAbove?: DatesAbove;
  readonly dayBlocks?: DayBlocks;
}

/** One row of a table. `line` counts from 1 in the file. */
export interface Row {
  readonly cells: readonly string[];
  readonly line: number;
}

/** Line ends as `\n`, one `\n` a line; says how many lines there are and how long the longest is. */
export function measureLines(text: string): { lines: number; longest: number; longestLine: number } {
  let lines = 0;
  let longest = 0;
  let longestLine = 0;
  let from = 0;
  while (from < text.length) {
    let to = text.indexOf('\n', from);
    if (to < 0) to = text.length;
    lines++;
    if (to - from > longest) {
      longest = to - from;
      longestLine = lines;
    }
    from = to + 1;
  }
  return { lines, longest, longestLine };
}

/** Calls `visit` for each row of a table, in order, with its date where that is printed once a day. */
export function eachTableRow(table: Table, visit: (cells: string[], line: number) => void): void {
  const { datesAbove, dayBlocks } = table;
  const fill = datesAbove ? fillDates(datesAbove) : dayBlocks && fillDayBlocks(dayBlocks);
  eachRow(table.text, table.delimiter, table.quoted, (cells, line) => {
    fill?.(cells);
    visit(cells, line);
  });
}

/**
 * Calls `visit` for each row, in order. Without quotes in the text a row is cut at delimiters and that is all;
 * with quotes papaparse cuts it, in pieces of some 64 KiB that end outside of quotes. No table of rows is built.
 */
export function eachRow(
  text: string,
  delimiter: string,
  quoted: boolean,
  visit: (cells: string[], line: number) => void,
): void {
  if (quoted) eachQuotedRow(text, delimiter, visit);
  else {
    let line = 1;
    for (let from = 0; from < text.length; line++) {
      let end = text.indexOf('\n', from);
      if (end < 0) end = text.length;
      const cells: string[] = [];
      let at = from;
      let next = text.indexOf(delimiter, at);
      while (next >= 0 && next < end) {
        cells.push(looked(text.slice(at, next)));
        at = next + 1;
        next = text.indexOf(delimiter, at);
      }
      cells.push(looked(text.slice(at, end)));
      visit(cells, line);
      // Else a rest without any delimiter would be searched to its end once for every line.
      from = end + 1;
      if (next < 0) {
        line = eachBareLine(text, from, line, visit);
        return;
      }
    }
  }
}

/**
 * A cell as it is looked at. Patterns of times and numbers would take the square of a long cell's length, so that it is cut, and
 * ends in a sign that no number or time ends in.
 */
function looked(cell: string): string {
  if (cell.length <= LONGEST_CELL) return cell;
  const text = cell.trim();
  return text.length <= LONGEST_CELL ? text : `${text.slice(0, LONGEST_CELL - 1)}…`;
}

/** Lines without any delimiter, to the end of the text. */
function eachBareLine(
  text: string,
  start: number,
  before: number,
  visit: (cells: string[], line: number) => void,
): number {
  let line = before;
  for (let from = start; from < text.length; ) {
    let end = text.indexOf('\n', from);
    if (end < 0) end = text.length;
    visit([looked(text.slice(from, end))], ++line);
    from = end + 1;
  }
  return line;
}

function eachQuotedRow(text: string, delimiter: string, visit: (cells: string[], line: number) => void): void {
  const config = { delimiter, newline: '\n', skipEmptyLines: false } as const;
  let line = 1;
  let from = 0;
  while (from < text.length) {
    let to = Math.min(text.length, from + PIECE);
    for (;;) {
      const end = to >= text.length ? -1 : text.indexOf('\n', to);
      to = end < 0 ? text.length : end + 1;
      if (to === text.length || !endsInQuotes(text, from, to)) break;
    }
    const last = text.charCodeAt(to - 1) === 10 ? to - 1 : to;
    const { data } = Papa.parse<string[]>(text.slice(from, last), config);
    for (let r = 0; r < data.length; r++) {
      const cells = data[r]!;
      let ends = 0;
      for (let c = 0; c < cells.length; c++) {
        if (cells[c]!.includes('\n')) ends += cells[c]!.split('\n').length - 1;
        cells[c] = looked(cells[c]!);
      }
      visit(cells, line);
      line += 1 + ends;
    }
    // An empty piece is an empty line, which gives no row.
    if (data.length === 0) line++;
    from = to;
  }
}

/** Whether a piece of text ends inside of a quoted field. */
function endsInQuotes(text: string, from: number, to: number): boolean {
  let open = false;
  for (let at = text.indexOf('"', from); at >= 0 && at < to; at = text.indexOf('"', at + 1)) open = !open;
  return open;
}

/** Recognises the delimiter and cuts a sample; undefined, with a finding, where the text is no table. */
export function openTable(raw: string, findings: FindingList): Table | undefined {
  const text = raw.includes('\r') ? raw.replace(/\r\n?/g, '\n') : raw;
  const { lines, longest, longestLine } = measureLines(text);
  if (longest > MAX_LINE) {
    findings.add('line-too-long', 'error', { characters: longest, mostCharacters: MAX_LINE }, { line: longestLine });
    return undefined;
  }
  let end = 0;
  for (let i = 0; i < SAMPLE_LINES && end < text.length; i++) {
    const next = text.indexOf('\n', end);
    end = next < 0 ? text.length : next + 1;
  }
  const head = text.slice(0, end);
  let quoted = text.includes('"');
  if (quoted && hasStrayQuotes(text)) {
    quoted = false;
    findings.add('quotes-unbalanced', 'warning', {});
  }
  let best: { delimiter: string; sample: FilledRow[]; score: number } | undefined;
  const stamps = new StampReader();
  for (const delimiter of DELIMITERS) {
    if (!head.includes(delimiter)) continue;
    const sample = sampleOf(head, delimiter, quoted);
    let score = 0;
    for (const row of sample) {
      if (row.cells.length < 2) continue;
      let stamp = 0;
      let values = 0;
      for (const cell of row.cells) {
        const kind = classify(cell, stamps);
        if (kind === 'stamp' || kind === 'date' || kind === 'time') stamp++;
        else if (kind === 'number') values++;
      }
      if (stamp > 0 && values > 0) score += 2;
      else if (stamp > 0) score += 1;
    }
    if (score > (best?.score ?? 0)) best = { delimiter, sample, score };
  }
  best ??= withSerials(head, quoted) ?? withDayBlocks(head, quoted);
  if (best === undefined) {
    if (DELIMITERS.some((delimiter) => holdsMonths(sampleOf(head, delimiter, quoted))))
      findings.add('no-interval-data', 'error', { why: 'months' });
    else findings.add('no-time-column', 'error', { why: 'no-table' });
    return undefined;
  }
  const { delimiter, sample } = best;
  const datesAbove = findDatesAbove(sample);
  const dayBlocks = datesAbove === undefined ? findDayBlocks(sample) : undefined;
  const fill = datesAbove ? fillDates(datesAbove) : dayBlocks && fillDayBlocks(dayBlocks, false);
  if (fill !== undefined) for (const { cells } of sample) fill(cells);
  const dates = datesAbove ? { datesAbove } : dayBlocks ? { dayBlocks } : {};
  return { text, delimiter, quoted, lines, sample, ...dates };
}

interface FilledRow extends Row {
  readonly cells: string[];
}

function sampleOf(head: string, delimiter: string, quoted: boolean): FilledRow[] {
  const sample: FilledRow[] = [];
  eachRow(head, delimiter, quoted, (cells, line) => {
    sample.push({ cells, line });
  });
  return sample;
}

/** The delimiter of a table whose dates are the numbers of a spreadsheet: a row of two numbers, the first one such. */
function withSerials(
  head: string,
  quoted: boolean,
): { delimiter: string; sample: FilledRow[]; score: number } | undefined {
  const stamps = new StampReader();
  for (const delimiter of DELIMITERS) {
    if (!head.includes(delimiter)) continue;
    const sample = sampleOf(head, delimiter, quoted);
    const rows = sample.filter(({ cells }) => {
      const kinds = cells.map((cell) => classify(cell, stamps, true));
      return kinds.includes('stamp') && kinds.includes('number');
    });
    if (rows.length > 1 && rows.length > sample.length / 2) return { delimiter, sample, score: rows.length };
  }
  return undefined;
}

/** The delimiter of a table of blocks, one a day, whose rows have numbers alone. */
function withDayBlocks(
  head: string,
  quoted: boolean,
): { delimiter: string; sample: FilledRow[]; score: number } | undefined {
  for (const delimiter of DELIMITERS) {
    if (!head.includes(delimiter)) continue;
    const sample = sampleOf(head, delimiter, quoted);
    if (findDayBlocks(sample) !== undefined) return { delimiter, sample, score: sample.length };
  }
  return undefined;
}

/** Whether quotation marks stand where they close nothing, or swallow many lines. */
function hasStrayQuotes(text: string): boolean {
  let open = -1;
  let newline = -1;
  for (let at = text.indexOf('"'); at >= 0; at = text.indexOf('"', at + 1)) {
    if (open < 0) {
      open = at;
      continue;
    }
    // A field over more than five lines is no field.
    if (newline < open) newline = indexOrEnd(text, open);
    for (let breaks = 0; newline < at; newline = indexOrEnd(text, newline + 1)) if (++breaks > 5) return true;
    open = -1;
  }
  return open >= 0;
}

function indexOrEnd(text: string, from: number): number {
  const at = text.indexOf('\n', from);
  return at < 0 ? Number.POSITIVE_INFINITY : at;
}
