import { strToU8, zipSync } from 'fflate';
import { PACKED } from './mutate-meter.mjs';

/** A cell: a text, a number, a formula with its value as last saved, a day with its format. */
export type XlsxCell =
  | string
  | number
  | null
  | { readonly day: number; readonly as: 'date' | 'date-time' | 'time' | 'hours' }
  | { readonly formula: string; readonly value?: number }
  | { readonly error: string };

export interface XlsxSheet {
  readonly name: string;
  readonly rows: readonly (readonly XlsxCell[])[];
  /** Rows from 1 that a filter hides. */
  readonly hidden?: readonly number[];
  /** `A1:C1`: cells shown as one. */
  readonly merged?: readonly string[];
}

const STYLES = { date: 1, 'date-time': 2, time: 3, hours: 4 } as const;
const HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n';
const MAIN = 'http://schemas.openxmlformats.org/spreadsheetml/2006/main';
const OFFICE = 'http://schemas.openxmlformats.org/officeDocument/2006/relationships';
const PACKAGE = 'http://schemas.openxmlformats.org/package/2006';

/** A spreadsheet as ECMA-376 has it: the few parts that a reader needs. */
export function xlsxOf(
  sheets: readonly XlsxSheet[],
  { from1904 = false, isProtected = false }: { from1904?: boolean; isProtected?: boolean } = {},
): Uint8Array {
  const types = sheets.map(
    (_, k) =>
      `<Override PartName="/xl/worksheets/sheet${k + 1}.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>`,
  );
  const parts: Record<string, string> = {
    '[Content_Types].xml': `<Types xmlns="${PACKAGE}/content-types"><Default Extension="xml" ContentType="application/xml"/><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>${types.join('')}</Types>`,
    '_rels/.rels': `<Relationships xmlns="${PACKAGE}/relationships"><Relationship Id="rId1" Type="${OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
    'xl/workbook.xml': `<workbook xmlns="${MAIN}" xmlns:r="${OFFICE}"><workbookPr${from1904 ? ' date1904="1"' : ''}/><sheets>${sheets
      .map(({ name }, k) => `<sheet name="${escaped(name)}" sheetId="${k + 1}" r:id="rId${k + 1}"/>`)
      .join('')}</sheets></workbook>`,
    'xl/_rels/workbook.xml.rels': `<Relationships xmlns="${PACKAGE}/relationships">${sheets
      .map(
        (_, k) => `<Relationship Id="rId${k + 1}" Type="${OFFICE}/worksheet" Target="worksheets/sheet${k + 1}.xml"/>`,
      )
      .join('')}<Relationship Id="rId900" Type="${OFFICE}/styles" Target="styles.xml"/></Relationships>`,
    'xl/styles.xml': `<styleSheet xmlns="${MAIN}"><numFmts count="2"><numFmt numFmtId="164" formatCode="dd/mm/yyyy\\ hh:mm"/><numFmt numFmtId="165" formatCode="[h]:mm"/></numFmts><cellXfs count="5"><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="164"/><xf numFmtId="20"/><xf numFmtId="165"/></cellXfs></styleSheet>`,
  };
  for (const [k, sheet] of sheets.entries()) parts[`xl/worksheets/sheet${k + 1}.xml`] = sheetXml(sheet, isProtected);
  return zipSync(Object.fromEntries(Object.entries(parts).map(([name, xml]) => [name, strToU8(HEAD + xml)])), {
    mtime: PACKED,
  });
}

function sheetXml({ rows, hidden = [], merged = [] }: XlsxSheet, isProtected: boolean): string {
  const lines = rows.map((cells, r) => {
    const inner = cells.map((cell, c) => cellXml(cell, `${String.fromCharCode(65 + c)}${r + 1}`)).join('');
    return `<row r="${r + 1}"${hidden.includes(r + 1) ? ' hidden="1"' : ''}>${inner}</row>`;
  });
  const merges =
    merged.length === 0 ? '' : `<mergeCells>${merged.map((ref) => `<mergeCell ref="${ref}"/>`)}</mergeCells>`;
  return `<worksheet xmlns="${MAIN}"><sheetData>${lines.join('')}</sheetData>${isProtected ? '<sheetProtection sheet="1"/>' : ''}${merges}</worksheet>`;
}

function cellXml(cell: XlsxCell, at: string): string {
  if (cell === null) return '';
  if (typeof cell === 'string') return `<c r="${at}" t="inlineStr"><is><t>${escaped(cell)}</t></is></c>`;
  if (typeof cell === 'number') return `<c r="${at}"><v>${cell}</v></c>`;
  if ('day' in cell) return `<c r="${at}" s="${STYLES[cell.as]}"><v>${cell.day}</v></c>`;
  if ('error' in cell) return `<c r="${at}" t="e"><v>${cell.error}</v></c>`;
  return `<c r="${at}"><f>${escaped(cell.formula)}</f>${cell.value === undefined ? '' : `<v>${cell.value}</v>`}</c>`;
}

function escaped(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('"', '&quot;');
}

/** The number that a spreadsheet has for a moment on the clock: days since 1899-12-30, or since 1904-01-01. */
export function dayOf(iso: string, from1904 = false): number {
  const from = from1904 ? Date.UTC(1904, 0, 1) : Date.UTC(1899, 11, 30);
  return (Date.parse(iso.includes('T') ? `${iso}Z` : `${iso}T00:00Z`) - from) / 86_400_000;
}
