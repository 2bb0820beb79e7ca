import type { Axis } from '../axis/index.ts';
import { check, oneOf } from '../input/door.ts';
import type { Fact } from '../words/fact.ts';

/** The four things that a home's meters measure. */
export const CHANNELS = ['import', 'export', 'load', 'solar'] as const;
/** One of {@link CHANNELS}. */
export type Channel = (typeof CHANNELS)[number];
/** The field of {@link IntervalSeries} that holds a channel. */
export type ChannelField = `${Channel}Kwh`;

/**
 * The field that holds a channel: `import` is in `importKwh`.
 * @throws InputError `not-allowed`
 */
export function channelField(channel: Channel): ChannelField {
  // Asked for cell by cell: the door is opened only where something is wrong.
  if (!CHANNELS.includes(channel)) check({ channel }, { channel: oneOf(CHANNELS) });
  return `${channel}Kwh`;
}

/** What the mask {@link IntervalSeries.estimated} says of an interval. */
export const ESTIMATED = {
  /** Metered. */
  no: 0,
  /** The file itself marks the value as estimated, substituted or edited. */
  bySource: 1,
  /** A gap that `repairGaps` filled. */
  byRepair: 2,
} as const;

/**
 * A register, price window or circuit that a channel is added up from, or that the file names as one. Where files are joined
 * it tells which of them lacks one that another has.
 */
export interface ChannelPart {
  readonly channel: Channel;
  /** What the files of one home all call it, in lower case: `e1`, `off peak`. It may be a text of the file: never print it. */
  readonly register: string;
  /** Fit to print: `column 3 "Night kWh"`, `register E2`. */
  readonly name: string;
  /**
   * `always`: where it has no reading, the channel isn't known. `in-turn`: one of the windows of which one counts at a time.
   * `any-time`: a circuit with a register of its own. `unsaid`: its readings may show that it takes turns.
   */
  readonly counts: 'always' | 'in-turn' | 'any-time' | 'unsaid';
  /** A mark of the connection point or meter, which doesn't show its number. */
  readonly point?: string;
  /** The file says which registers there are: those that it lists of this channel, and no other. */
  readonly allListed: boolean;
  /** All that the file holds of the channel, though its name says that the meter counts on others as well. */
  readonly alone?: true;
  /** The user says that it is added to what other files of the home hold at the same time. */
  readonly added?: true;
  /** As long as the axis, kWh; NaN: no reading. Absent where the file names it and holds nothing of it. */
  readonly kwh?: Float64Array;
}

/**
 * A home's metered energy on one axis. Every present series is as long as the axis, in kWh an interval,
 * never negative. NaN marks a gap: it may stand here and nowhere later.
 */
export interface IntervalSeries {
  readonly axis: Axis;
  /** Energy bought at the service, kWh. */
  readonly importKwh?: Float64Array;
  /** Energy sold at the service, kWh. */
  readonly exportKwh?: Float64Array;
  /** What the home consumed, whatever its source, kWh. */
  readonly loadKwh?: Float64Array;
  /** Gross solar energy at AC, kWh. */
  readonly solarKwh?: Float64Array;
  /** Which intervals hold an estimate in any channel: a value of {@link ESTIMATED} each. Absent where none does. */
  readonly estimated?: Uint8Array;
  /** What channels are added up from, where the file names it. Absent where none is: the channel is a whole. */
  readonly parts?: readonly ChannelPart[];
}

/**
 * Something that a reader noticed in a file. `error` means that the data can’t be trusted as they are. Its sentence and
 * data hold no text of the file but dates, numbers and column names made of words that meters use.
 */
export interface Finding extends Fact {
  readonly severity: 'error' | 'warning' | 'note';
  /**
   * The first faulty cell that may be quoted, in quotation marks, and its line: what reads like a date or a number gone
   * wrong. Absent where no cell does: a name or an account number is as private in a column of dates as anywhere.
   */
  readonly quoted?: { readonly cell: string; readonly line: number };
  /** Line numbers from 1, at most twenty of them; `count` has the full number. */
  readonly lines?: readonly number[];
  readonly count?: number;
  /** Energy that the finding concerns, kWh. */
  readonly energyKwh?: number;
}

/** How a file was understood, and by which evidence. */
export interface Layout {
  readonly name: string;
  readonly evidence: readonly string[];
}

/** What reading a file gives. `series` is absent where none can be trusted. */
export interface IntervalData {
  readonly series?: IntervalSeries;
  readonly findings: readonly Finding[];
  readonly layout: Layout;
}
