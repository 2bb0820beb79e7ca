import Papa from 'papaparse';
import type { FindingList } from '../findings.ts';
import type { ColumnRef } from '../options.ts';
import { type HeaderCell, readHeader, showColumn } from './header.ts';
import { cellKind, usesDecimalComma } from './numbers.ts';
import { StampReader } from './stamps.ts';

/** Longest line that a meter file may have, characters: 288 columns take some 6,000. */
const MAX_LINE = 200_000;
/** Lines looked at to recognise a table. */
const SAMPLE_LINES = 400;
const DELIMITERS = [',', ';', '\t', '|'];
const PIECE = 1 << 16;

/** What a cell of a sample looks like. */
export type CellClass = 'stamp' | 'date' | 'time' | 'number' | 'blank' | 'text';

/** A delimited text, cut into rows on demand. */
export interface Table {
  readonly text: string;
  readonly delimiter: string;
  readonly quoted: boolean;
  /** Lines of the text, an upper bound of its rows. */
  readonly lines: number;
  /** First rows, with their line numbers. */
  readonly sample: readonly Row[];
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
        cells.push(text.slice(at, next));
        at = next + 1;
        next = text.indexOf(delimiter, at);
      }
      cells.push(text.slice(at, end));
      visit(cells, line);
      // Where the rest has no delimiter, looking for one again for every line would take the square of its length.
      from = end + 1;
      if (next < 0) {
        line = eachBareLine(text, from, line, visit);
        return;
      }
    }
  }
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
    visit([text.slice(from, end)], ++line);
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
      visit(cells, line);
      line++;
      for (const cell of cells) if (cell.includes('\n')) line += cell.split('\n').length - 1;
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
    findings.add(
      'line-too-long',
      'error',
      `a line has ${longest} characters: no meter file's has more than ${MAX_LINE}`,
      { line: longestLine },
    );
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
    findings.add('quotes-unbalanced', 'warning', 'quotation marks are not balanced: read as plain characters');
  }
  let best: { delimiter: string; sample: Row[]; score: number } | undefined;
  const stamps = new StampReader();
  for (const delimiter of DELIMITERS) {
    if (!head.includes(delimiter)) continue;
    const sample: Row[] = [];
    eachRow(head, delimiter, quoted, (cells, line) => {
      sample.push({ cells, line });
    });
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
  if (best === undefined) {
    findings.add(
      'no-time-column',
      'error',
      'no line holds a date and a value parted by comma, semicolon, tab or bar: this is no table of intervals',
    );
    return undefined;
  }
  return { text, delimiter: best.delimiter, quoted, lines, sample: best.sample };
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

/** What one cell looks like, by itself. */
export function classify(text: string, stamps: StampReader): CellClass {
  if (text.trim() === '') return 'blank';
  if (cellKind(text, false) === 'number')
    return /^\s*(?:19|20)\d{6}(?:\d{4}(?:\d{2})?)?\s*$|^\s*1[0-9]{9}(?:\d{3})?\s*$/.test(text) && stamps.read(text) >= 0
      ? stamps.hasTime
        ? 'stamp'
        : 'date'
      : 'number';
  if (stamps.read(text) >= 0) return stamps.hasTime ? 'stamp' : 'date';
  if (stamps.readTime(text)) return 'time';
  const kind = cellKind(text, true);
  return kind === 'text' ? 'text' : kind;
}

/** A header and the data below it, recognised in the sample. */
export interface Shape {
  /** Line of the header, 0 where there is none. */
  readonly headerLine: number;
  readonly names: readonly string[];
  readonly header: readonly HeaderCell[];
  /** How each column of the data rows looks: the commonest class that isn't blank. */
  readonly classes: readonly CellClass[];
  readonly rows: readonly Row[];
  readonly width: number;
  readonly decimalComma: boolean;
}

/** Finds header and data rows in the sample. */
export function findShape(table: Table, decimal: '.' | ',' | undefined, findings: FindingList): Shape | undefined {
  const stamps = new StampReader();
  const classed = table.sample.map((row) => row.cells.map((cell) => classify(cell, stamps)));
  const isData = (kinds: readonly CellClass[]) => {
    let time = 0;
    let rest = 0;
    for (const kind of kinds) {
      if (kind === 'stamp' || kind === 'date' || kind === 'time') time++;
      else if (kind === 'number' || kind === 'blank') rest++;
    }
    return time > 0 && rest > 0 && kinds.some((kind) => kind === 'stamp' || kind === 'date');
  };
  // Data begin where two rows in a row look like data and have the same width (a preamble's dates don't).
  let first = -1;
  for (let i = 0; i < classed.length; i++) {
    if (!isData(classed[i]!)) continue;
    let next = i + 1;
    while (next < classed.length && classed[next]!.every((kind) => kind === 'blank')) next++;
    if (next >= classed.length || (isData(classed[next]!) && sameTimes(classed[i]!, classed[next]!))) {
      first = i;
      break;
    }
  }
  if (first < 0) {
    findings.add('no-time-column', 'error', 'no rows with a date and a value were found');
    return undefined;
  }
  let headerAt = first - 1;
  while (headerAt >= 0 && classed[headerAt]!.every((kind) => kind === 'blank')) headerAt--;
  if (headerAt >= 0 && !looksLikeHeader(table.sample[headerAt]!.cells)) headerAt = -1;
  const names = headerAt < 0 ? [] : table.sample[headerAt]!.cells;
  const rows: Row[] = [];
  const counts: Map<CellClass, number>[] = [];
  const numberCells: string[] = [];
  for (let i = first; i < classed.length; i++) {
    const kinds = classed[i]!;
    if (!isData(kinds)) continue;
    rows.push(table.sample[i]!);
    for (let c = 0; c < kinds.length; c++) {
      counts[c] ??= new Map();
      counts[c]!.set(kinds[c]!, (counts[c]!.get(kinds[c]!) ?? 0) + 1);
      if (kinds[c] === 'number' || kinds[c] === 'text') numberCells.push(table.sample[i]!.cells[c]!);
    }
  }
  const classes = counts.map((count) => {
    let best: CellClass = 'blank';
    let most = 0;
    for (const [kind, n] of count)
      if (kind !== 'blank' && n > most) {
        best = kind;
        most = n;
      }
    return best;
  });
  const decimalComma = decimal === undefined ? usesDecimalComma(numberCells) : decimal === ',';
  return {
    headerLine: headerAt < 0 ? 0 : table.sample[headerAt]!.line,
    names,
    header: names.map(readHeader),
    classes,
    rows,
    width: classes.length,
    decimalComma,
  };
}

function sameTimes(a: readonly CellClass[], b: readonly CellClass[]): boolean {
  for (let c = 0; c < a.length; c++)
    if (a[c] === 'stamp' || a[c] === 'date') return b[c] === 'stamp' || b[c] === 'date';
  return false;
}

/** Whether a row names columns: at least two cells, one of which names a time or an energy. */
export function looksLikeHeader(cells: readonly string[]): boolean {
  let named = 0;
  let filled = 0;
  for (const cell of cells) {
    if (cell.trim() === '') continue;
    filled++;
    const head = readHeader(cell);
    if (head.time !== undefined || head.role !== undefined || head.skip !== undefined || head.tells !== undefined)
      named++;
  }
  return (filled >= 2 && named >= 1) || (filled >= 1 && cells.length >= 2 && named >= 1);
}

/** {@link showColumn} for a shape. */
export function columnName(shape: Shape, index: number): string {
  return showColumn(index, shape.names[index]);
}

/** A stated column's index, or −1 with an error finding. */
export function findColumn(shape: Shape, ref: ColumnRef, field: string, findings: FindingList): number {
  if (typeof ref === 'number') {
    if (Number.isInteger(ref) && ref >= 1 && ref <= Math.max(shape.width, shape.names.length)) return ref - 1;
  } else {
    const wanted = ref.trim().toLowerCase();
    const at = shape.names.findIndex((name) => name.trim().toLowerCase() === wanted);
    if (at >= 0) return at;
  }
  findings.add(
    'unknown-column',
    'error',
    `\`columns.${field}\` names a column that the file doesn't have: it has ${shape.width} columns, named ${
      shape.names.length === 0
        ? 'nowhere'
        : shape.names
            .map((_, c) => columnName(shape, c))
            .slice(0, 12)
            .join(', ')
    }`,
    { key: field },
  );
  return -1;
}

/** Whether a cell begins as a date in digits does. */
export function looksDated(cell: string | undefined): boolean {
  return cell !== undefined && /^\s*["'=]{0,3}\d{1,4}[-/.]\d/.test(cell);
}
