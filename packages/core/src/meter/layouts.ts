import { isAcross, readAcross } from './across.ts';
import { isXml } from './espi/feed.ts';
import { readEspi } from './espi/streams.ts';
import type { FindingList } from './findings.ts';
import { isNem12, readNem12 } from './nem12/read.ts';
import type { ParseOptions } from './options.ts';
import type { Readings } from './readings.ts';
import { readLong } from './rows/read.ts';
import { type Inactive, inactiveOf, unitOf, wordsOf } from './table/header.ts';
import { findShape, type Shape } from './table/shape.ts';
import { openTable, type Table } from './table/table.ts';
import { isWide, readWide } from './wide.ts';

/** A way of writing meter data that the text itself shows. */
interface TextLayout {
  recognises(text: string): boolean;
  /** Undefined, with an error finding, where the text can't be read after all. */
  read(text: string, options: ParseOptions, findings: FindingList): Readings | undefined;
}

/** A way of writing meter data in a delimited table. */
interface TableLayout {
  recognises(shape: Shape): boolean;
  /** Undefined, with an error finding, where the table can't be read after all. */
  read(table: Table, shape: Shape, options: ParseOptions, findings: FindingList): Readings | undefined;
}

/** Looked at in this order, before the text is cut into a table. */
const TEXT_LAYOUTS: readonly TextLayout[] = [
  { recognises: isXml, read: readEspi },
  { recognises: isNem12, read: readNem12 },
  { recognises: isAcross, read: readAcross },
];

/** Looked at in this order; the last one takes every table. */
const TABLE_LAYOUTS: readonly TableLayout[] = [
  { recognises: isWide, read: readWide },
  { recognises: () => true, read: readLong },
];

/** What a text holds, by the first layout that recognises it. Undefined, with an error finding, where it can't be read. */
export function readText(text: string, options: ParseOptions, findings: FindingList): Readings | undefined {
  const ofText = TEXT_LAYOUTS.find((layout) => layout.recognises(text));
  if (ofText !== undefined) return ofText.read(text, options, findings);
  const table = openTable(text, findings);
  const shape = table && findShape(table, options.decimal, findings);
  if (shape === undefined) return undefined;
  const readings = TABLE_LAYOUTS.find((layout) => layout.recognises(shape))!.read(table!, shape, options, findings);
  const inactive = options.unit === undefined ? inactiveAbove(table!, shape) : undefined;
  if (inactive === undefined || readings?.streams.some(({ unit }) => unit !== undefined) !== false) return readings;
  findings.add('not-active-energy', 'error', { quantity: inactive });
  return undefined;
}

/** What a title or a line of units above the rows says of values that name no unit themselves. */
function inactiveAbove({ sample }: Table, { rows, headerLine }: Shape): Inactive | undefined {
  const above = sample.filter(({ line }) => line < rows[0]!.line && line !== headerLine).flatMap(({ cells }) => cells);
  if (above.some((cell) => wordsOf(cell).some((word) => unitOf(word) !== undefined))) return undefined;
  return above.map(inactiveOf).find((found) => found !== undefined);
}
