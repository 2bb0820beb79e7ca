import type { Unit } from './options.ts';
import type { Part } from './part.ts';

/** What a column measures. `net` is signed and is split by sign; everything else is one of the series. */
export type Role = 'import' | 'export' | 'load' | 'solar' | 'net';

/** What the type, register, channel, direction and unit cells of a row say. */
export interface Kind {
  /** Fit to print: the text itself only where it can hold no name and no number of a customer. */
  readonly shown: string;
  readonly role?: Role;
  readonly unit?: Unit;
  /** See `Stream.part` and `Stream.total`. */
  readonly part?: Part;
  readonly total?: boolean;
  /** The register that the text names by its place among others alone (`Rate 2`): where all rows are of it, no part is known. */
  readonly byPlace?: string;
  /** The text says consumption, which beside gross solar is load. */
  readonly gross?: boolean;
  /** The user said what such rows are. */
  readonly stated?: boolean;
  /** Why such rows are left out. */
  readonly leave?: 'other-commodity' | 'other-quantity' | 'stated';
  /** False where the cells say nothing that is known here. */
  readonly understood: boolean;
  /** The cells that tell rows apart are empty. */
  readonly blank?: boolean;
}

/** Which end of its interval a label names, and what says so. */
export interface LabelEnd {
  readonly at: 'start' | 'end';
  /**
   * `stated` by the user; by the `column-name` or `column-names`; by the `layout`, which has its own sentence for it;
   * `both-ends`: its cell prints both; `shows-24`: 24:00, which is never a start; `day-run`: days run from the first step to midnight, `home-day-run`: so do the home's, of instants;
   * `last-moment`: they are last seconds or minutes, such as 00:59:59; `day-total`: where the total of a day starts anew;
   * `others`: as other labels of the file are; `contradicted`: the series of the file run differently; `assumed`: nothing says otherwise.
   */
  readonly why:
    | 'stated'
    | 'column-name'
    | 'column-names'
    | 'layout'
    | 'both-ends'
    | 'shows-24'
    | 'day-run'
    | 'home-day-run'
    | 'last-moment'
    | 'day-total'
    | 'others'
    | 'contradicted'
    | 'assumed';
}

/** The labels of readings, one entry a reading, in file order. Streams of one table share them. */
export interface Labels {
  /** `utc`: `labelMs` are instants. `local`: what the zone's clock showed, as ms since 1970-01-01 on that clock. */
  clock: 'utc' | 'local';
  /** Labels claim to be UTC by an epoch or a Z alone: the user may know better (see the option `clock`). */
  zulu?: boolean;
  /** The name of their column alone says that labels are UTC: the user may know better here too. */
  utcByName?: boolean;
  /** The offsets from UTC that labels state, minutes, in order; absent where they state none. */
  offsetMinutes?: readonly number[];
  labelEnd: LabelEnd;
  /** Readings held; the arrays may be longer. */
  count: number;
  labelMs: Float64Array;
  /** Line in the file, from 1. */
  line: Int32Array;
  /** Which pass of a repeated hour a label means, a value of `MARK`. */
  mark?: Uint8Array;
  /** Length of each interval, ms, where the file prints it. */
  durationMs?: Float64Array;
  /** The step, ms, where the layout itself gives it. */
  stepMs?: number;
}

/** Whether each label is later than the one before: then no time has two readings. */
export function eachLater({ labelMs, count }: Labels): boolean {
  for (let i = 1; i < count; i++) if (!(labelMs[i]! > labelMs[i - 1]!)) return false;
  return true;
}

/** Readings of one column (or register, or feed) as the file gives them. */
export interface Stream {
  role: Role;
  unit: Unit | undefined;
  /** Units that come into question where `unit` is not known. */
  unitChoices?: readonly Unit[];
  /** Which meter or usage point of the file, from 1. */
  point?: number;
  labels: Labels;
  /** NaN: no value. */
  values: Float64Array;
  /** 1 where the file marks the value as estimated. */
  estimated?: Uint8Array;
  /** Values are a meter's running total. */
  cumulative: boolean;
  /** What the cells that tell rows apart say; absent where there are none. */
  kind?: Kind;
  /** Of rows that take turns, those of all kinds; `kind` is the first. */
  kinds?: readonly Kind[];
  /** Nothing understood in that cell or beside it says what these rows measure. */
  unclear?: boolean;
  /** Called consumption, and read as load because it stands beside generation. */
  gross?: boolean;
  /** A register, price window or circuit that is a part of its channel: such streams are added to each other. */
  part?: Part;
  /** The whole of its channel, beside which parts must not be added. */
  total?: boolean;
  /** What other files of the home call the part too: `e1`, `off peak`. Absent where it is no part, or has no such name. */
  register?: string;
  /** Which meter reading of an ESPI file, from 1. */
  reading?: number;
  /** Where it came from, fit to print: `column 5 "USAGE (kWh)"`. */
  source: string;
  /** The number of the column that its values stand in, from 1, where they are of one. */
  column?: number;
}

/** Streams that share their labels, and the step of these, ms. */
export interface Group {
  labels: Labels;
  stepMs: number;
  streams: Stream[];
}

/**
 * By what a file was understood: sentences, and among them, as data, what is decided of its labels only once all of them
 * are known.
 */
export type Evidence = (string | LabelEnd)[];

/** A cell of a row that names itself a total, in a column of values. */
export interface TotalsRow {
  readonly line: number;
  /** From 1. */
  readonly column: number;
  readonly total: number;
  /** Half of the last decimal that it prints. */
  readonly rounding: number;
  /** As the row itself prints it. */
  readonly unit?: Unit;
}

/** Rows that the user's words leave out, and what they hold. */
export interface LeftOut {
  /** As sentences call it: `rows of "NT"`. */
  readonly what: string;
  /** What its own text says it measures. */
  readonly role?: Role;
  readonly unit?: Unit;
  /** The number of the column that its values stand in, from 1. */
  readonly column: number;
  /** Which meter of the file, from 1; 0 for one of which nothing is read. */
  readonly point: number;
  /** Of its values, or of a counter its steps, in the file's own unit. */
  readonly sum: number;
  /** A register of what the home takes or sells: named for a price window, or one of several that count one at a time. */
  readonly isRegister: boolean;
  /** What is read holds it too: the total of the registers, say. */
  readonly isHeld: boolean;
  /** Readings of times of which nothing else of its kind is read. */
  readonly alone: number;
  readonly line: number;
  readonly count: number;
}

/** Columns of a stated channel's kind that the user's words leave out. */
export interface Beside {
  readonly role: 'import' | 'load' | 'export';
  readonly columns: readonly {
    readonly name: string;
    /** It holds the others and what is read, so that it is no more energy. */
    readonly isTotal: boolean;
    /** The number of a column that is read, from 1: without a unit of its own it has that one's. */
    readonly column: number;
    readonly unit?: Unit;
    /** Of its values, or of a counter its steps, in that unit. */
    readonly sum: number;
  }[];
  /** The columns of the channel that are read. */
  readonly read: readonly string[];
  /** Of those read and those beside, from 1. */
  readonly columnNumbers: readonly number[];
  /** They are registers of price windows, by their names or as they count one at a time, and nothing that is read is their total. */
  readonly areRegisters: boolean;
}

/** What a file says of the registers of a meter or connection point beside their readings. */
export interface Declared {
  /** Those that it names and holds no reading of. */
  readonly unread: readonly { readonly register: string; readonly name: string; readonly role: 'import' | 'export' }[];
  /** Besides these and those that are read there are none. */
  readonly allListed: boolean;
}

/** A text reader's result: streams to be put on an axis, and how the file was understood. */
export interface Readings {
  layout: string;
  evidence: Evidence;
  streams: Stream[];
  /** Cost of one unit of value, where rows print a cost. */
  costPerValue?: number;
  /** Totals that the file prints of its rows; absent where rows that it may count are left out. */
  totals?: readonly TotalsRow[];
  /** What the user's words leave out. */
  left?: readonly LeftOut[];
  beside?: readonly Beside[];
  /** Marks of meters or connection points, by their number from 1; see `ChannelPart.point`. */
  points?: readonly string[];
  /** What the file says of the registers of each point, by its number from 1. */
  declared?: readonly Declared[];
  /** Dates have no year: a modelled typical year. */
  typicalYear?: boolean;
}
