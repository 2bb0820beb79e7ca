import { callable, check, optional, someBytes } from '../input/door.ts';
import { quoteName } from '../words/quote.ts';
import { Allowance, ArchiveFault } from './archive/unpacked.ts';
import { unzip } from './archive/zip.ts';
import { FindingList } from './findings.ts';
import { joinSeries } from './join.ts';
import { MAX_BYTES, type ParseOptions, parseOptions } from './options.ts';
import { parseIntervalData } from './parse.ts';
import { withoutHeld } from './place/unread-registers.ts';
import { CHANNELS, channelField, type Finding, type IntervalData, type IntervalSeries } from './series.ts';
import { type Laid, type SheetCell, textOfSheet } from './sheet-text.ts';
import { spreadsheetOf } from './spreadsheet-kind.ts';
import { saysNoData } from './stops.ts';

/** A sheet of a spreadsheet: its rows from the first one on, none left out, hidden ones among them. */
export interface Sheet {
  readonly name: string;
  readonly rows: readonly (readonly SheetCell[])[];
}

/**
 * Reads a spreadsheet (.xlsx, ECMA-376). It is handed none that unpacks to more than a meter file may, or whose last cell
 * lies so far out that its grid couldn't be held. It throws where it can't read one.
 */
export type XlsxDecoder = (bytes: Uint8Array) => readonly Sheet[] | Promise<readonly Sheet[]>;

/** Cells of the largest sheet, blank ones counted: a year of minutes is half a million rows. */
const MOST_CELLS = 12_000_000;
/** No program that writes sheets has more rows, or letters in the name of a column. Common practice, no source. */
const MOST_ROWS = 1_048_576;
const MOST_LETTERS = 3;

/** What of a file is read as a table: its bytes, or the texts of the sheets that hold readings. */
export interface Opened {
  readonly data: IntervalData;
  readonly tables: readonly { readonly input: Uint8Array | string; readonly options: ParseOptions }[];
}

/**
 * `parseIntervalData` for hosts that can read spreadsheets too: of those, the sheets that hold readings are read as a table
 * each. Several are joined where they are stretches or channels of one home; else `options.sheet` says which one is meant.
 */
export async function openIntervals(
  bytes: Uint8Array,
  options: ParseOptions = {},
  xlsx?: XlsxDecoder,
): Promise<Opened> {
  if (xlsx === undefined || spreadsheetOf(bytes) !== 'xlsx')
    return { data: parseIntervalData(bytes, options), tables: [{ input: bytes, options }] };
  const findings = new FindingList();
  const sheets = await sheetsOf(bytes, options.maxBytes ?? MAX_BYTES, xlsx, findings);
  const failed = (): Opened => ({
    data: { findings: findings.list(), layout: { name: 'spreadsheet', evidence: [] } },
    tables: [],
  });
  if (sheets === undefined) return failed();
  const filled = sheets.filter(({ rows }) => rows.some((row) => row.some((cell) => cell !== null && cell !== '')));
  const names = filled.map(({ name }) => name);
  const { sheet: wanted } = options;
  const meant = wanted === undefined ? filled : filled.filter(({ name }) => name === wanted);
  if (meant.length === 0) {
    if (wanted === undefined) findings.add('empty', 'error', {});
    else findings.add('unknown-sheet', 'error', { sheets: names.slice(0, 20) });
    return failed();
  }
  const read = meant.map((sheet) => readSheet(sheet, options));
  const good = read.filter(({ data }) => data.series !== undefined);
  const asking = read.filter(({ data }) => data.series === undefined && !data.findings.some(saysNoData));
  const open = good.length === 0 ? asking : [...good, ...asking];
  if (open.length <= 1) {
    // Where none holds readings, what one was recognised as says more than that another is no table.
    const known = read.find(({ data }) => data.findings.some(({ code }) => code === 'not-meter-data'));
    const only = open[0] ?? known ?? read[0]!;
    const others = names.filter((name) => name !== only.name);
    return { data: withEvidence(only.data, [takenWords(only.name, others)]), tables: [only] };
  }
  if (asking.length > 0 || overlap(good.map(({ data }) => data.series!))) {
    findings.add('several-sheets', 'error', { sheets: open.map(({ name }) => name).slice(0, 20) });
    return failed();
  }
  const joined = joinSeries(good.map(({ data }) => data.series!));
  const first = good[0]!.data;
  const ofSheets = good.flatMap(({ data }) => data.findings);
  const data: IntervalData = {
    ...(joined.series === undefined ? {} : { series: joined.series }),
    findings: [...withoutHeld(ofSheets, joined.series), ...joined.findings],
    layout: first.layout,
  };
  const taken = good.map(({ name }) => quoteName(name)).join(', ');
  return { data: withEvidence(data, [`the sheets ${taken} of the spreadsheet, joined`]), tables: good };
}

/**
 * {@link parseIntervalData} for hosts that can read spreadsheets too: sheets that hold stretches or channels of one home are
 * joined, else `options.sheet` says which one is meant. Without a decoder a spreadsheet is a finding.
 *
 * @throws InputError on anything but bytes, and options that are none; never on content
 */
export async function readIntervals(
  bytes: Uint8Array,
  options: ParseOptions = {},
  xlsx?: XlsxDecoder,
): Promise<IntervalData> {
  check({ bytes, options, xlsx }, { bytes: someBytes, options: parseOptions, xlsx: optional(callable) });
  return (await openIntervals(bytes, options, xlsx)).data;
}

/** The sheets of a spreadsheet that is neither too large nor damaged; else undefined, with an error finding. */
export async function sheetsOf(
  bytes: Uint8Array,
  mostBytes: number,
  xlsx: XlsxDecoder,
  findings: FindingList,
): Promise<readonly Sheet[] | undefined> {
  if (bytes.length > mostBytes) {
    findings.add('too-large', 'error', { bytes: bytes.length, mostBytes });
    return undefined;
  }
  try {
    // Unpacked once before the decoder does it again: it may have no limits of its own.
    for (const member of unzip(bytes, new Allowance(mostBytes, bytes.length), () => true)) {
      const xml = sheetXml(member);
      if (hasTooManyRows(xml)) {
        findings.add('spreadsheet-unreadable', 'error', { why: 'many-rows', mostRows: MOST_ROWS });
        return undefined;
      }
      if (gridCells(xml) > MOST_CELLS) {
        findings.add('spreadsheet-unreadable', 'error', { why: 'far-cell', mostCells: MOST_CELLS });
        return undefined;
      }
    }
  } catch (error) {
    if (!(error instanceof ArchiveFault)) throw error;
    findings.add(error.code, 'error', error.data);
    return undefined;
  }
  try {
    return await xlsx(bytes);
  } catch {
    // What the decoder says of it is in words of spreadsheets, and may quote them.
    findings.add('spreadsheet-unreadable', 'error', { why: 'damaged' });
    return undefined;
  }
}

/** The XML of a sheet; nothing for a member that is none. */
function sheetXml(member: Uint8Array): string {
  const text = new TextDecoder('latin1').decode(member);
  return text.slice(0, 4096).includes('worksheet') ? text : '';
}

/** Whether a sheet has more rows than a program writes, those without an address counted: the decoder makes each of them. */
function hasTooManyRows(xml: string): boolean {
  let rows = 0;
  for (let at = xml.indexOf('<row'); at >= 0 && rows <= MOST_ROWS; at = xml.indexOf('<row', at + 4)) rows++;
  return rows > MOST_ROWS;
}

/** Cells of the grid that the addresses of a sheet span. */
function gridCells(xml: string): number {
  let most = 0;
  let mostColumn = 0;
  for (const [, letters, row] of xml.matchAll(/\br\s*=\s*["']([A-Za-z]*)(\d+)["']/g)) {
    if (letters!.length > MOST_LETTERS) return Number.POSITIVE_INFINITY;
    let column = 0;
    for (const letter of letters!.toUpperCase()) column = column * 26 + letter.charCodeAt(0) - 64;
    if (column > mostColumn) mostColumn = column;
    if (Number(row) > most) most = Number(row);
  }
  return most * mostColumn;
}

interface ReadSheet extends Laid {
  readonly name: string;
  readonly data: IntervalData;
  readonly input: string;
  readonly options: ParseOptions;
}

function readSheet(sheet: Sheet, stated: ParseOptions): ReadSheet {
  const laid = textOfSheet(sheet.rows, stated.decimal);
  const options = laid.decimal === undefined ? stated : { ...stated, decimal: laid.decimal };
  const data = parseIntervalData(laid.text, options);
  const findings = data.findings.map((finding) => placed(finding, sheet));
  return { ...laid, name: sheet.name, data: { ...data, findings }, input: laid.text, options };
}

/** A finding with its sheet, and the address of the cell that it quotes. */
function placed(finding: Finding, { name, rows }: Sheet): Finding {
  const { quoted } = finding;
  const row = quoted === undefined ? undefined : rows[quoted.line - 1];
  const text = quoted?.cell.replace(/^"|…?"$/g, '');
  const column =
    row === undefined || text === undefined
      ? -1
      : textOfSheet([row], undefined).cells[0]!.findIndex((cell) => cell.trim().startsWith(text));
  const cell = column < 0 ? {} : { cell: `${lettersOf(column)}${quoted!.line}` };
  return { ...finding, where: { ...finding.where, sheet: name, ...cell } };
}

/** `A` for 0, `Z` for 25, `AA` for 26. */
function lettersOf(column: number): string {
  const rest = String.fromCharCode(65 + (column % 26));
  return column < 26 ? rest : lettersOf(Math.floor(column / 26) - 1) + rest;
}

/** Whether two of them tell the same channel of the same time. */
function overlap(all: readonly IntervalSeries[]): boolean {
  return all.some((one, k) =>
    all
      .slice(k + 1)
      .some(
        (other) =>
          one.axis.startEpochMs < other.axis.endEpochMs &&
          other.axis.startEpochMs < one.axis.endEpochMs &&
          CHANNELS.map(channelField).some((field) => one[field] !== undefined && other[field] !== undefined),
      ),
  );
}

function withEvidence(data: IntervalData, lines: readonly string[]): IntervalData {
  return { ...data, layout: { ...data.layout, evidence: [...lines, ...data.layout.evidence] } };
}

function takenWords(name: string, others: readonly string[]): string {
  const rest =
    others.length === 0
      ? ', its only one with anything in it'
      : `; not ${others.map((other) => quoteName(other)).join(', ')}`;
  return `the sheet ${quoteName(name)} of the spreadsheet${rest}`;
}
