import Papa from 'papaparse';
import type { FindingList } from './findings.ts';
import { type HeaderCell, readHeader, showColumn } from './header.ts';
import { cellKind, usesDecimalComma } from './numbers.ts';
import { StampReader } from './stamps.ts';

/** Longest line that a meter file may have, characters: 288 columns take some 6,000. */
const MAX_LINE = 200_000;
/** Lines looked at to recognise a table. */
const SAMPLE_LINES = 400;
const DELIMITERS = [',', ';', '\t', '|'];
const CHUNK = 1 << 20;

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
export function measureLines(text: string): { lines: number; longest: number } {
  let lines = 0;
  let longest = 0;
  let from = 0;
  while (from < text.length) {
    let to = text.indexOf('\n', from);
    if (to < 0) to = text.length;
    if (to - from > longest) longest = to - from;
    lines++;
    from = to + 1;
  }
  return { lines, longest };
}

/** Calls `visit` for each row, in order; stops when it returns false. No table of rows is built. */
export function eachRow(
  text: string,
  delimiter: string,
  quoted: boolean,
  visit: (cells: string[], line: number) => boolean | undefined,
): void {
  let line = 1;
  Papa.parse<string[]>(text, {
    delimiter,
    newline: '\n',
    // A character that the text can't hold: nothing is quoted.
    quoteChar: quoted ? '"' : '\u0000',
    skipEmptyLines: false,
    chunkSize: CHUNK,
    chunk: (result: Papa.ParseResult<string[]>, parser: Papa.Parser) => {
      const rows = result.data;
      for (let r = 0; r < rows.length; r++) {
        const cells = rows[r]!;
        if (visit(cells, line) === false) {
          parser.abort();
          return;
        }
        line++;
        if (quoted) for (const cell of cells) if (cell.includes('\n')) line += cell.split('\n').length - 1;
      }
    },
  } as Papa.ParseConfig<string[]> & { download?: false });
}

/** Recognises the delimiter and cuts a sample; undefined, with a finding, where the text is no table. */
export function openTable(raw: string, findings: FindingList): Table | undefined {
  const text = raw.includes('\r') ? raw.replace(/\r\n?/g, '\n') : raw;
  const { lines, longest } = measureLines(text);
  if (longest > MAX_LINE) {
    findings.add(
      'line-too-long',
      'error',
      `a line has ${longest} characters: no meter file's has more than ${MAX_LINE}`,
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
      return undefined;
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
