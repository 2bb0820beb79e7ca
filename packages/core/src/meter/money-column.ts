import type { Axis } from '../axis/index.ts';
import { feedBills, type ToldBill } from './espi/bills.ts';
import { isXml } from './espi/feed.ts';
import { readEspiCosts } from './espi/streams.ts';
import { FindingList } from './findings.ts';
import { isNem12 } from './nem12/read.ts';
import type { ParseOptions } from './options.ts';
import { parseBy, parseIntervalData } from './parse.ts';
import { textOf } from './plain-table.ts';
import type { Finding, IntervalSeries } from './series.ts';
import { isPrice } from './table/header.ts';
import { findShape, type Shape } from './table/shape.ts';
import { openTable, type Table } from './table/table.ts';

/** A column of money beside the readings, or in a file of its own, read by the rules of meter files. */
export interface MoneyColumn {
  readonly axis: Axis;
  /** Prices: money a kWh, the mean of each step. Costs: money of each step. NaN where the file has none. */
  readonly values: Float64Array;
}

/** What came of it: the column, or why there is none. */
export type MoneyRead =
  | { readonly column: MoneyColumn; readonly findings: readonly Finding[] }
  | { readonly column: undefined; readonly why: 'unreadable'; readonly findings: readonly Finding[] }
  | { readonly column: undefined; readonly why: 'no-column' | 'several-columns'; readonly findings: readonly [] };

/** Prices by hundredths of the money, and by MWh. */
const HUNDREDTHS = /(?:^|[^a-z])(?:ct|cts|cents?|c|rp|pence|p|öre|øre|ore|¢)\s*(?:\/|per\b|je\b|pro\b)\s*[km]?wh/i;
const PER_MWH = /(?:\/|per\b|je\b|pro\b|por\b|par\b)\s*mwh/i;

/** What a price of the file is multiplied by to be money a kWh, by the unit that it prints. */
function factorOf(text: string): number {
  return (HUNDREDTHS.test(text) ? 0.01 : 1) * (PER_MWH.test(text) ? 0.001 : 1);
}

/**
 * Reads the prices or the costs of a table: time labels, zone, decimals, repeated hours and blanks by the rules of meter
 * files. Prices that print their unit (`EUR/MWh`, `ct/kWh`) become money a kWh.
 *
 * @param stated what is stated of the file's labels; what is said of its energy is left out
 */
export function readMoney(input: string | Uint8Array, what: 'price' | 'cost', stated: ParseOptions): MoneyRead {
  const text = textOf(input);
  if (what === 'cost' && text !== undefined && isXml(text)) return feedCosts(input, stated);
  const found = text === undefined || isXml(text) || isNem12(text) ? undefined : shapeOf(text, stated.decimal);
  if (found === undefined) return unreadable(input, stated);
  const { shape, table } = found;
  const columns = columnsOf(shape, what);
  const [column] = columns;
  if (column === undefined || columns.length > 1)
    return { column: undefined, why: column === undefined ? 'no-column' : 'several-columns', findings: [] };
  const { start, end, date, time, endTime, type } = stated.columns ?? {};
  const times = { start, end, date, time, endTime, type };
  const { series, findings } = parseIntervalData(what === 'price' ? withoutUnits(table, shape) : input, {
    ...labelsOf(stated),
    columns: { ...defined(times), net: column + 1 },
    // What holds through a step is power to the rules of meter files; what adds up over steps is energy.
    unit: what === 'price' ? 'kW' : 'kWh',
    serviceKw: Number.POSITIVE_INFINITY,
  });
  if (series?.importKwh === undefined) return { column: undefined, why: 'unreadable', findings };
  const units = [shape.names[column] ?? '', ...unitCells(shape)].map(factorOf);
  const factor = what === 'cost' ? 1 : (units.find((unit) => unit !== 1) ?? 1) / series.axis.stepHours;
  return { column: columnOf(series, factor), findings };
}

/** A signed column that was read by the rules of energy, times a factor. */
function columnOf({ axis, importKwh, exportKwh }: IntervalSeries, factor: number): MoneyColumn {
  const values = importKwh!.map((kwh, i) => {
    const value = (kwh - (exportKwh?.[i] ?? 0)) * factor;
    // As the file prints it: neither ÷ 4 × 4 nor ÷ 1000 moves a digit.
    return Number.isNaN(value) ? value : Number(value.toPrecision(12));
  });
  return { axis, values };
}

/** Options that say how the labels of a table or a feed are read. */
function labelsOf({ zone, intervalEnd, dateOrder, clock, decimal, usagePoint, year, maxBytes }: ParseOptions) {
  return defined({ zone, intervalEnd, dateOrder, clock, decimal, usagePoint, year, maxBytes });
}

/** The bills that a meter file tells beside its readings: an ESPI feed may. */
export function readToldBills(input: string | Uint8Array, zone: string): ToldBill[] {
  const text = textOf(input);
  return text !== undefined && isXml(text) ? feedBills(text, zone) : [];
}

/** What the readings of an ESPI feed cost. */
function feedCosts(input: string | Uint8Array, stated: ParseOptions): MoneyRead {
  let why: 'no-costs' | 'both-ways' | undefined;
  const { series, findings } = parseBy(
    (text, options, told) => {
      const costs = readEspiCosts(text, options, told);
      if (typeof costs !== 'string') return costs;
      why = costs;
      return undefined;
    },
    input,
    { ...labelsOf(stated), ...defined({ meterReading: stated.meterReading }), serviceKw: Number.POSITIVE_INFINITY },
  );
  if (why !== undefined)
    return { column: undefined, why: why === 'no-costs' ? 'no-column' : 'several-columns', findings: [] };
  if (series?.importKwh === undefined) return { column: undefined, why: 'unreadable', findings };
  return { column: columnOf(series, 1), findings };
}

function unreadable(input: string | Uint8Array, { zone }: ParseOptions): MoneyRead {
  const { findings, series } = parseIntervalData(input, defined({ zone }));
  return series === undefined
    ? { column: undefined, why: 'unreadable', findings }
    : { column: undefined, why: 'no-column', findings: [] };
}

function shapeOf(text: string, decimal: ParseOptions['decimal']): { table: Table; shape: Shape } | undefined {
  const dropped = new FindingList();
  const table = openTable(text, dropped);
  const shape = table && findShape(table, decimal, dropped);
  return table === undefined || shape === undefined ? undefined : { table, shape };
}

/** The text with its column of units under a name that says nothing: rows in EUR/MWh are no rows of energy. */
function withoutUnits({ text, delimiter }: Table, { header, headerLine }: Shape): string {
  const at = header.findIndex((cell) => cell.tells === 'unit');
  if (at < 0) return text;
  const lines = text.split('\n');
  const cells = lines[headerLine - 1]!.split(delimiter);
  lines[headerLine - 1] = cells.map((cell, c) => (c === at ? 'x' : cell)).join(delimiter);
  return lines.join('\n');
}

/** The columns that may be meant, by their names; without names the only one of numbers. */
function columnsOf({ classes, header, names }: Shape, what: 'price' | 'cost'): number[] {
  const numbers = classes.flatMap((kind, c) => (kind === 'number' && header[c]?.time === undefined ? [c] : []));
  const named = (words: readonly string[]) =>
    numbers.filter((c) => header[c]?.words.some((word) => words.includes(word)) === true);
  if (what === 'cost') {
    const costs = numbers.filter((c) => header[c]?.skip === 'cost' && !isPrice(names[c] ?? ''));
    const sure = costs.filter((c) => !header[c]!.words.some((word) => ['rate', 'price'].includes(word)));
    return sure;
  }
  const priced = numbers.filter((c) => isPrice(names[c] ?? ''));
  if (priced.length > 0) return priced;
  const prices = named(['price', 'prices', 'rate', 'spot']);
  return prices.length > 0 || numbers.length !== 1 ? prices : numbers;
}

/** What a column of units prints. */
function unitCells({ header, rows }: Shape): string[] {
  const at = header.findIndex((cell) => cell.tells === 'unit');
  return at < 0 ? [] : rows.slice(0, 3).map(({ cells }) => cells[at] ?? '');
}

/** An object without what isn't there. */
function defined<T extends object>(fields: T): { [K in keyof T]: Exclude<T[K], undefined> } {
  return Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined)) as never;
}
