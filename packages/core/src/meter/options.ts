import { flag, list, number, oneOf, optional, type Rule, record, report, text } from '../input/door.ts';
import { type Adjustment, anAdjustment } from './adjust.ts';
import type { ServiceKw } from './service.ts';
import type { DateOrder } from './table/dates.ts';

/** Units that meters, monitors and portals print. `kW-minutes`: sixty one-minute kW readings added up and called hourly. */
export const UNITS = ['kWh', 'Wh', 'MWh', 'kW', 'W', 'MW', 'kW-minutes'] as const;
/** One of {@link UNITS}. */
export type Unit = (typeof UNITS)[number];

/** A column by the name in its header (case and padding don't matter) or by its number, from 1. */
export type ColumnRef = string | number;

/**
 * Which columns hold what. Named columns replace recognition: what isn't named isn't read, but for the
 * time columns where none is named. Several columns of one value (day and night registers) are added.
 */
export interface ColumnMap {
  readonly start?: ColumnRef;
  readonly end?: ColumnRef;
  readonly date?: ColumnRef;
  readonly time?: ColumnRef;
  readonly endTime?: ColumnRef;
  /** Column whose text says what a row measures: a type, register, channel or direction. */
  readonly type?: ColumnRef;
  readonly import?: ColumnRef | readonly ColumnRef[];
  readonly export?: ColumnRef | readonly ColumnRef[];
  readonly load?: ColumnRef | readonly ColumnRef[];
  readonly solar?: ColumnRef | readonly ColumnRef[];
  /** One signed column: import less export (see {@link ParseOptions.sign}). */
  readonly net?: ColumnRef | readonly ColumnRef[];
}

/** What rows of one kind are (see {@link ParseOptions.rows}). */
export const ROW_KINDS = ['import', 'export', 'load', 'solar', 'net', 'ignore'] as const;
/** One of {@link ROW_KINDS}. */
export type RowKind = (typeof ROW_KINDS)[number];

/** What the user states about a file. Everything that isn't stated is recognised by evidence, or asked for. */
export interface ParseOptions {
  /** IANA zone whose clock the home keeps. Needed unless the file is in the project's own interval format. */
  readonly zone?: string;
  /** Unit of every value. @defaultValue from column names, a units column, cost, size; else a finding asks */
  readonly unit?: Unit;
  /** Which columns hold what. @defaultValue recognised by their names and contents */
  readonly columns?: ColumnMap;
  /**
   * What the values of the one nameless value column are; of a file with but one register of a meter, that it is all of that.
   * @defaultValue `import`, with a finding
   */
  readonly channel?: 'import' | 'export' | 'load' | 'solar' | 'net';
  /**
   * What rows are, by the text of their type, register, channel or direction cell: `{ "Register 2": "export" }`. Case
   * and padding don't matter; `*` stands for all that aren't named. Rows of one channel in several kinds are added.
   */
  readonly rows?: Readonly<Record<string, RowKind>>;
  /**
   * Two readings of one interval that differ: the first or the last in the file counts, or both are parts that are
   * added; of a file with a register that the meter has beside those of another file, that it is added to them.
   * @defaultValue a gap, and an error finding where there are many
   */
  readonly repeats?: 'first' | 'last' | 'add';
  /** What a positive value in a signed net column means. @defaultValue `import-positive` */
  readonly sign?: 'import-positive' | 'export-positive';
  /** Whether a label names the end of its interval. @defaultValue from names and labels such as 24:00 */
  readonly intervalEnd?: boolean;
  /** Order of the numbers in dates such as 03/04/2026. @defaultValue settled from the whole column */
  readonly dateOrder?: DateOrder;
  /**
   * The clock of labels without an offset: `local` changes with the zone, `standard` stays on the zone's
   * standard time all year, `utc` is UTC. @defaultValue `local`, or what the clock changes in the file show
   */
  readonly clock?: 'local' | 'standard' | 'utc';
  /** The mark before decimals. @defaultValue from the values */
  readonly decimal?: '.' | ',';
  /** Which usage point or meter of the file, from 1; several are added. @defaultValue the only one, else a finding asks */
  readonly usagePoint?: number | readonly number[];
  /**
   * Which meter readings of an ESPI file are read, from 1 in the order in which they stand in it; several of one channel
   * are added. @defaultValue all, unless they are alternatives
   */
  readonly meterReading?: number | readonly number[];
  /** Most power that the service can carry, kW, both ways or each: a reading above gives an error finding. @defaultValue 100 */
  readonly serviceKw?: number | ServiceKw;
  /** What a kWh cost, in the currency of the file's cost column, > 0: tells units apart where rows print a cost. */
  readonly pricePerKwh?: number;
  /** Energy bought over the span of the file by the utility's bills, kWh, > 0: tells units apart. */
  readonly billedKwh?: number;
  /** Which sheet of a spreadsheet is read. @defaultValue those that hold readings */
  readonly sheet?: string;
  /** Year of dates that print none. @defaultValue a common year (2023, or 2024 with 29 February), with a finding */
  readonly year?: number;
  /** Corrections of a metering fault, applied to the series read. @defaultValue none */
  readonly adjust?: Adjustment;
  /** Largest input read, bytes. @defaultValue 256 MiB */
  readonly maxBytes?: number;
}

/** Largest input read unless {@link ParseOptions.maxBytes} says otherwise, bytes. */
export const MAX_BYTES = 256 * 1024 * 1024;

/** A text to read, or bytes. */
export const textOrBytes: Rule = (value, path, looking) => {
  if (typeof value === 'string' || Object.prototype.toString.call(value) === '[object Uint8Array]') return;
  report(looking, path, value === undefined ? 'missing' : 'wrong-type', value, 'a text, or its bytes in a Uint8Array');
};

const aColumn: Rule = (value, path, looking) =>
  (typeof value === 'number' ? number({ whole: true, least: 1 }) : text)(value, path, looking);

const someColumns = optional((value, path, looking) =>
  (Array.isArray(value) ? list(aColumn) : aColumn)(value, path, looking),
);

const someNumbers = optional((value, path, looking) => {
  const one = number({ whole: true, least: 1 });
  (Array.isArray(value) ? list(one) : one)(value, path, looking);
});

/** What the user states about a file; a zone that doesn't exist is a finding. */
export const parseOptions = record<ParseOptions>({
  zone: optional(text),
  unit: optional(oneOf(UNITS)),
  columns: optional(
    record<ColumnMap>({
      start: optional(aColumn),
      end: optional(aColumn),
      date: optional(aColumn),
      time: optional(aColumn),
      endTime: optional(aColumn),
      type: optional(aColumn),
      import: someColumns,
      export: someColumns,
      load: someColumns,
      solar: someColumns,
      net: someColumns,
    }),
  ),
  channel: optional(oneOf(['import', 'export', 'load', 'solar', 'net'])),
  rows: optional((value, path, looking) => {
    const kinds = typeof value === 'object' && value !== null ? Object.keys(value) : [];
    record(Object.fromEntries(kinds.map((text) => [text, optional(oneOf(ROW_KINDS))])))(value, path, looking);
  }),
  repeats: optional(oneOf(['first', 'last', 'add'])),
  sign: optional(oneOf(['import-positive', 'export-positive'])),
  intervalEnd: optional(flag),
  dateOrder: optional(oneOf(['day-first', 'month-first', 'year-first'])),
  clock: optional(oneOf(['local', 'standard', 'utc'])),
  decimal: optional(oneOf(['.', ','])),
  sheet: optional(text),
  usagePoint: someNumbers,
  meterReading: someNumbers,
  serviceKw: optional((value, path, looking) => {
    const kw = number({ above: 0, infinite: true });
    (typeof value === 'object' ? record<ServiceKw>({ drawKw: kw, feedKw: kw }) : kw)(value, path, looking);
  }),
  pricePerKwh: optional(number({ above: 0 })),
  billedKwh: optional(number({ above: 0 })),
  year: optional(number({ whole: true, least: 1, most: 9999 })),
  adjust: optional(anAdjustment),
  maxBytes: optional(number({ least: 0, infinite: true })),
});
