import { quoteName } from '@duskbank/core/input';
import stringWidth from 'string-width';
import { shown } from '../io/output.ts';
import { styled } from './style.ts';

/** Width that every text output keeps to. */
export const WIDTH = 80;

/** Narrowest that a column of text is made so that a table fits its width. */
const LEAST_TEXT = 12;

/** Widest that one is in a table that doesn't fit and goes on below. */
const MOST_TEXT = 28;

const graphemes = new Intl.Segmenter();

/** Columns that a text takes in a terminal: two for a sign of East Asia or a picture, none for a mark on another. */
const widthOf = (text: string) => stringWidth(text);

/**
 * One paragraph in lines of at most `width` columns, broken between words; later lines begin with `indent`. Leading spaces
 * stay. A line break in `text` is the user's and is shown as `\n`; styles go around what this returns.
 */
export function wrap(text: string, width = WIDTH, indent = ''): string {
  const line = shown(text);
  const lines: string[] = [];
  const words = line.trimStart().split(' ');
  let current = line.slice(0, line.length - line.trimStart().length) + words[0]!;
  let used = widthOf(current);
  for (const word of words.slice(1)) {
    const wide = widthOf(word);
    if (used + 1 + wide <= width) {
      current += ` ${word}`;
      used += 1 + wide;
    } else {
      lines.push(current.trimEnd());
      current = indent + word;
      used = indent.length + wide;
    }
  }
  lines.push(current);
  return lines.join('\n');
}

/** A headline. */
export function heading(text: string): string {
  return styled('bold', wrap(text));
}

/** Names in their marks, one after another. */
export function quoteNames(names: Iterable<string>, between = ', '): string {
  return [...names].map((name) => quoteName(name)).join(between);
}

/**
 * A name of the user's as the cell of a column of its own: what {@link quoteName} makes of it, without the marks. In anything
 * but a cell it stands in them.
 */
export function cellName(name: string): string {
  return quoteName(name).slice(1, -1);
}

/**
 * The name that a page is headed by, in quotation marks: alone on a line it could be read as an answer of ours, whatever it says.
 * @param rest what the page is about
 */
export function nameHeading(name: string, rest = ''): string {
  return heading(`${quoteName(name)}${rest}`);
}

/** A name cut to what its column holds, in columns of a terminal. */
export function shortened(name: string, width: number): string {
  const text = shown(name);
  return widthOf(text) <= width ? text : `${firstOf(text, width - 1)}…`;
}

/** A name whose middle is left out: what tells names of one beginning apart stands at their ends. */
function withoutMiddle(text: string, width: number): string {
  if (widthOf(text) <= width) return text;
  const end = Math.floor((width - 1) / 2);
  const parts = [...graphemes.segment(text)].map(({ segment }) => segment);
  let tail = '';
  while (widthOf(tail + parts.at(-1)!) <= end) tail = parts.pop()! + tail;
  return `${firstOf(text, width - 1 - end)}…${tail}`;
}

/** As much of the beginning of a text as fits. */
function firstOf(text: string, width: number): string {
  let kept = '';
  let used = 0;
  for (const { segment } of graphemes.segment(text)) {
    used += widthOf(segment);
    if (used > width) break;
    kept += segment;
  }
  return kept;
}

/** A column of a table: its head (one or two lines) and how its cells stand. */
export interface Column {
  readonly head: string;
  readonly align?: 'left' | 'right';
}

/**
 * Rows under heads, two spaces between columns, a rule under the heads. A row that is one text is a line of its own
 * between the others, printed as it is: a title, or lines that {@link wrap} made.
 *
 * A table wider than `width` first cuts its columns of text; a number is never cut. Where that isn't enough, columns that don't
 * fit follow in a second table below, under the first column again: a row that a terminal breaks reads as other numbers.
 */
export function table(
  columns: readonly Column[],
  rows: readonly (readonly string[] | string)[],
  width = WIDTH,
): string {
  const heads = columns.map((column) => column.head.split('\n').map(shown));
  const cells = rows.map((row) => (typeof row === 'string' ? row : columns.map((_, c) => shown(row[c] ?? ''))));
  const widths = columns.map((_, c) =>
    Math.max(...heads[c]!.map(widthOf), ...cells.map((row) => (typeof row === 'string' ? 0 : widthOf(row[c]!)))),
  );
  for (const [c, most] of textWidths(columns, heads, widths, width).entries()) {
    if (most === widths[c]) continue;
    cutColumn(cells, c, most);
    widths[c] = most;
  }
  return blocksOf(widths, width)
    .map((block) => drawn(columns, heads, cells, widths, block))
    .join('\n\n');
}

/** How wide columns may be: those of text give way, the widest first, where that makes the table fit; else to a bound only. */
function textWidths(
  columns: readonly Column[],
  heads: readonly (readonly string[])[],
  widths: readonly number[],
  width: number,
): number[] {
  const fitted = [...widths];
  const excess = () => fitted.reduce((sum, each) => sum + each, 2 * (fitted.length - 1)) - width;
  const least = (c: number, text: number) => Math.min(widths[c]!, Math.max(text, ...heads[c]!.map(widthOf)));
  const texts = columns.flatMap((column, c) => (column.align === 'right' ? [] : [c]));
  for (const c of texts.sort((a, b) => widths[b]! - widths[a]!))
    if (excess() > 0) fitted[c] = Math.max(least(c, LEAST_TEXT), fitted[c]! - excess());
  if (excess() > 0) for (const c of texts) fitted[c] = least(c, MOST_TEXT);
  return fitted;
}

/** Cuts the cells of one column, so that those that differ still do where that is possible. */
function cutColumn(cells: readonly (string[] | string)[], c: number, most: number): void {
  const rows = cells.filter((row) => typeof row !== 'string');
  const kinds = (texts: readonly string[]) => new Set(texts).size;
  const whole = rows.map((row) => row[c]!);
  let cut = whole.map((text) => shortened(text, most));
  if (kinds(cut) < kinds(whole)) cut = whole.map((text) => withoutMiddle(text, most));
  for (const [r, row] of rows.entries()) row[c] = cut[r]!;
}

/** Which columns stand side by side: all, or as many as fit, the first one in front of each lot. */
function blocksOf(widths: readonly number[], width: number): number[][] {
  const blocks: number[][] = [[0]];
  let used = widths[0]!;
  for (let c = 1; c < widths.length; c++) {
    if (used + 2 + widths[c]! > width && blocks.at(-1)!.length > 1) {
      blocks.push([0]);
      used = widths[0]!;
    }
    blocks.at(-1)!.push(c);
    used += 2 + widths[c]!;
  }
  return blocks;
}

function drawn(
  columns: readonly Column[],
  heads: readonly (readonly string[])[],
  cells: readonly (readonly string[] | string)[],
  widths: readonly number[],
  block: readonly number[],
): string {
  const put = (row: readonly string[]) =>
    block
      .map((c) => {
        const space = ' '.repeat(widths[c]! - widthOf(row[c]!));
        return columns[c]!.align === 'right' ? space + row[c]! : row[c]! + space;
      })
      .join('  ')
      .trimEnd();
  const headLines = Math.max(...block.map((c) => heads[c]!.length));
  const lines: string[] = [];
  for (let h = 0; h < headLines; h++) lines.push(put(heads.map((head) => head[h - headLines + head.length] ?? '')));
  lines.push(block.map((c) => '─'.repeat(widths[c]!)).join('  '));
  for (const row of cells) lines.push(typeof row === 'string' ? row : put(row));
  return lines.join('\n');
}
