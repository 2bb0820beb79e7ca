import { visible, visibleJson } from '@duskbank/core/input';

/**
 * The one gate of all that is printed. Text that isn't ours (names, keys, paths, arguments) is made safe where it enters
 * a sentence or a cell, by {@link shown} (sentences, cells) or `showName` (paths, arguments); what leaves is looked through once more, so that no control character but our
 * own line breaks and styles ever reaches a terminal.
 */

/** Styles that `render/style.ts` puts on: bold, dim, underline, and their ends. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: what begins a style is what is looked for
const OUR_STYLE = /(\u001b\[(?:1|2|4|22|24)m)/;

/**
 * A sentence, a cell or a name that may hold text of the user's, on one line: what can't be seen or would be obeyed is
 * written out (`\n`, `\u001b`). Schemas bound the length of names; paths and arguments have `showName` cut them.
 */
export function shown(text: string): string {
  return visible(text);
}

/** Prints data on stdout. */
export function print(text: string): void {
  write(process.stdout, text);
}

/** Prints an object as JSON on stdout, typed arrays as lists. Values stay as they are; what a terminal would obey is escaped. */
export function printJson(value: unknown): void {
  const json = JSON.stringify(
    value,
    (_key, item) => (ArrayBuffer.isView(item) ? Array.from(item as Float64Array) : item),
    2,
  );
  print(visibleJson(json));
}

/** Prints a note on stderr: not data. */
export function note(text: string): void {
  write(process.stderr, text);
}

/** Prints warnings of a report on stderr, a line each. */
export function noteWarnings(warnings: readonly { readonly message: string }[]): void {
  for (const { message } of warnings) note(`warning: ${shown(message)}`);
}

/** Replaces the line of a terminal's stderr that the cursor stands in; nothing clears it. */
export function status(what?: string): void {
  process.stderr.write(`\r\u001b[K${what === undefined ? '' : `${shown(what)} …`}`);
}

/**
 * A cell of CSV. Numbers stay numbers. A text that a spreadsheet would run as a formula gets an apostrophe before it;
 * a text with a comma, a quotation mark or a line break is quoted.
 */
export function csvCell(value: string | number | boolean | null | undefined): string {
  if (typeof value !== 'string') return value === null || value === undefined ? '' : String(value);
  const isFormula = /^[=+\-@\t\r]/.test(value) && !/^[+-]?\d+(?:\.\d+)?$/.test(value);
  const text = `${isFormula ? "'" : ''}${eachLine(value, visible)}`;
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

function write(stream: NodeJS.WriteStream, text: string): void {
  const safe = text
    .split(OUR_STYLE)
    .map((part, k) => (k % 2 === 1 ? part : eachLine(part, visible)))
    .join('');
  stream.write(safe.endsWith('\n') ? safe : `${safe}\n`);
}

function eachLine(text: string, change: (line: string) => string): string {
  return text.split('\n').map(change).join('\n');
}
