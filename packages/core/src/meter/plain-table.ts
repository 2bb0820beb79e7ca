import { InputError, type InputIssue } from '../input/issue.ts';
import { containerOf, unpack } from './archive/container.ts';
import { decodeText } from './decode.ts';
import { FindingList } from './findings.ts';
import { MAX_BYTES } from './options.ts';
import { textOfSheet } from './sheet-text.ts';
import { sheetsOf, type XlsxDecoder } from './spreadsheet.ts';
import { spreadsheetOf } from './spreadsheet-kind.ts';
import { faultsOf } from './stops.ts';

/** A table that is no meter data, as text. */
export interface PlainTable {
  readonly text: string;
  /** The mark before decimals, where a spreadsheet settles it. */
  readonly decimal: '.' | ',' | undefined;
}

/** The text of a file, of the first of several in an archive. */
export function textOf(input: string | Uint8Array): string | undefined {
  if (typeof input === 'string') return input.replace(/^\uFEFF/, '');
  const dropped = new FindingList();
  const bytes = containerOf(input) === undefined ? input : unpack(input, MAX_BYTES, dropped)?.[0];
  return bytes === undefined ? undefined : decodeText(bytes, dropped).replace(/^\uFEFF/, '');
}

/**
 * A table of prices or bills as text: a spreadsheet by its only sheet with anything in it, or the only one that `fits`;
 * any other file as meter files are decoded.
 *
 * @throws InputError on a spreadsheet that can't be read, or of which several sheets may be meant
 */
export async function plainTable(
  bytes: Uint8Array,
  file: string,
  xlsx: XlsxDecoder | undefined,
  fits: (table: PlainTable) => boolean,
): Promise<PlainTable> {
  const findings = new FindingList();
  const kind = spreadsheetOf(bytes);
  if (kind === undefined) {
    const text = textOf(bytes);
    if (text !== undefined) return { text, decimal: undefined };
    findings.add('archive-empty', 'error', { why: 'only-archives' });
    throw new InputError(faultsOf(file, findings.list()));
  }
  if (kind === 'locked') findings.add('spreadsheet-locked', 'error', {});
  else if (kind !== 'xlsx' || xlsx === undefined) findings.add('spreadsheet-kind', 'error', { kind });
  const sheets = findings.hasError ? undefined : await sheetsOf(bytes, MAX_BYTES, xlsx!, findings);
  if (sheets === undefined) throw new InputError(faultsOf(file, findings.list()));
  const tables = sheets
    .filter(({ rows }) => rows.some((row) => row.some((cell) => cell !== null && cell !== '')))
    .map(({ rows }) => {
      const { text, decimal } = textOfSheet(rows, undefined);
      return { text, decimal };
    });
  const fitting = tables.length === 1 ? tables : tables.filter(fits);
  const [only] = fitting;
  if (only !== undefined && fitting.length === 1) return only;
  throw new InputError([sheetFault(file, tables.length, fitting.length)]);
}

function sheetFault(file: string, sheets: number, fitting: number): InputIssue {
  if (sheets === 0)
    return {
      code: 'empty',
      where: { file },
      received: 'a spreadsheet with nothing in it',
      expected: 'a sheet that holds a table',
    };
  return {
    code: 'several-sheets',
    where: { file },
    received: `a spreadsheet of ${sheets} sheets, ${fitting === 0 ? 'none' : String(fitting)} of which hold such a table`,
    expected: 'one sheet with the table',
    hint: 'save that sheet alone, as .xlsx or as CSV',
  };
}
