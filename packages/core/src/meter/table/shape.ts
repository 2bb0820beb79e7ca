import type { FindingList } from '../findings.ts';
import type { ColumnRef, Unit } from '../options.ts';
import { type CellClass, classify } from './cells.ts';
import { type HeaderCell, type Inactive, inactiveOf, readHeader, showColumn, unitOf } from './header.ts';
import { holdsMonths } from './months.ts';
import { cellKind, usesDecimalComma, VALUE_WITH_UNIT } from './numbers.ts';
import { namesHours, StampReader } from './stamps.ts';
import type { Row, Table } from './table.ts';

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
  const classedAs = (serials: boolean) =>
    table.sample.map((row) => row.cells.map((cell) => classify(cell, stamps, serials)));
  let classed = classedAs(false);
  // Dates as a spreadsheet counts them are plain numbers: looked for only where no cell is a date of another kind.
  const instants = new Set<string>();
  for (const [r, kinds] of classed.entries())
    for (const [c, kind] of kinds.entries())
      if (kind === 'stamp' || kind === 'date') instants.add(table.sample[r]!.cells[c]!);
  // One that never changes is a number that only looks so: of a meter, say.
  if (instants.size <= 1) classed = classedAs(true);
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
    if (holdsMonths(table.sample)) findings.add('no-interval-data', 'error', { why: 'months' });
    else findings.add('no-time-column', 'error', { why: 'no-rows' });
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
  const header = names.map(readHeader);
  // A register may run through numbers that look like a day or an instant: beside a column of dates it is a number.
  const ofNumbers = classes.map((_, c) => rows.every(({ cells }) => isNumberOrBlank(cells[c] ?? '')));
  if (classes.some((kind, c) => (kind === 'stamp' || kind === 'date') && !ofNumbers[c]))
    for (const [c, kind] of classes.entries())
      if (ofNumbers[c] && (kind === 'stamp' || kind === 'date' || kind === 'time') && header[c]?.time === undefined)
        classes[c] = 'number';
  // A meter's number may look like an instant; instants change from row to row.
  const isInstant = (kind: CellClass) => kind === 'stamp' || kind === 'date';
  const changes = classes.map((_, c) => rows.some(({ cells }) => cells[c] !== rows[0]!.cells[c]));
  if (classes.some((kind, c) => isInstant(kind) && changes[c]))
    for (const [c, kind] of classes.entries())
      if (kind === 'stamp' && ofNumbers[c] && !changes[c] && rows.length > 1) classes[c] = 'number';
  // 14.30 is a time of day in a column that is named so.
  for (const [c, kind] of classes.entries())
    if (kind === 'number' && header[c]?.time !== undefined && header[c]?.tells === undefined)
      if (rows.every(({ cells }) => /^\s*(?:[01]?\d|2[0-4])\.[0-5]\d\s*$/.test(cells[c] ?? ''))) classes[c] = 'time';
  // So is 01-02 or 1h where all of a column are, beside another one of dates: the hours of a day, one after the other.
  for (const [c, kind] of classes.entries())
    if (kind !== 'number' && changes[c] && header[c]?.tells === undefined)
      if (
        classes.some((other, k) => k !== c && isInstant(other)) &&
        countsHours(rows.map(({ cells }) => cells[c] ?? ''))
      )
        classes[c] = 'time';
  const cellUnits = classes.map((kind, c) =>
    kind === 'number' ? unitInCells(rows.map(({ cells }) => cells[c] ?? '')) : undefined,
  );
  for (const [c, unit] of cellUnits.entries()) {
    if (unit === undefined) continue;
    for (const { cells } of rows) numberCells.push((cells[c] ?? '').replace(/[A-Za-z ]+$/, ''));
    for (let k = header.length; k < classes.length; k++) header.push({ words: [] });
    // A name that says what it measures says it of the value before the unit too.
    const own = header[c]?.role === undefined ? { role: 'import' as const, weak: true } : {};
    header[c] = { words: ['value'], ...header[c], ...own, unit, unitInCells: true };
  }
  for (const [c, kind] of classes.entries()) {
    const inactive = kind === 'number' ? inactiveInCells(rows.map(({ cells }) => cells[c] ?? '')) : undefined;
    if (inactive === undefined) continue;
    for (let k = header.length; k < classes.length; k++) header.push({ words: [] });
    header[c] = { words: ['value'], skip: 'other', inactive, unitInCells: true };
  }
  const decimalComma = decimal === undefined ? usesDecimalComma(numberCells) : decimal === ',';
  return {
    headerLine: headerAt < 0 ? 0 : table.sample[headerAt]!.line,
    names,
    header,
    classes,
    rows,
    width: classes.length,
    decimalComma,
  };
}

/** Whether all cells name hours, most of them the one after that of the cell before, or before it. */
function countsHours(cells: readonly string[]): boolean {
  if (!cells.every(namesHours)) return false;
  const stamps = new StampReader();
  const hours = cells.map((cell) => (stamps.readTime(cell) ? stamps.timeMs / 3_600_000 : Number.NaN));
  const apart = hours.slice(1).map((hour, k) => Math.abs(hour - hours[k]!));
  return apart.filter((step) => step === 1 || step === 23).length >= 0.8 * apart.length;
}

/** The unit that every filled cell of a column prints behind its value: `0,25 kWh`; undefined where they differ or one has none. */
function unitInCells(cells: readonly string[]): Unit | undefined {
  const units = new Set<string | undefined>();
  for (const cell of cells) if (cellKind(cell, false) !== 'blank') units.add(VALUE_WITH_UNIT.exec(cell)?.[1]);
  const [only] = units;
  return units.size === 1 && only !== undefined ? unitOf(only) : undefined;
}

/** What the cells of a column hold where each prints it behind its value: `0,25 kVAh`. */
function inactiveInCells(cells: readonly string[]): Inactive | undefined {
  const filled = cells.filter((cell) => cellKind(cell, false) !== 'blank');
  const told = new Set(filled.map((cell) => (VALUE_WITH_UNIT.test(cell) ? inactiveOf(cell) : undefined)));
  return told.size === 1 ? [...told][0] : undefined;
}

function isNumberOrBlank(cell: string): boolean {
  return cellKind(cell, false) !== 'text' || cellKind(cell, true) !== 'text';
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
    { field, width: shape.width, columns: shape.names.slice(0, 12).map((_, c) => columnName(shape, c)) },
    { key: field },
  );
  return -1;
}

/** Whether a cell begins as a date in digits does. */
export function looksDated(cell: string | undefined): boolean {
  return cell !== undefined && /^\s*["'=]{0,3}\d{1,4}[-/.]\d/.test(cell);
}
