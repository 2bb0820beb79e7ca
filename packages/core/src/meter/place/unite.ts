import { offsetSpans, weekdayOfCivilDay } from '../../axis/index.ts';
import { listed } from '../../words/figures.ts';
import { dayRuns, toldRuns } from '../day-runs.ts';
import { DAY_MS, MINUTE_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import type { ParseOptions } from '../options.ts';
import { areDifferentWindows, knownAs } from '../part.ts';
import type { Stream } from '../readings.ts';
import type { Channel } from '../series.ts';
import { firstLine, nameOf } from './told-stream.ts';

/** Readings of one stream on the grid that all streams share. */
export interface OnGrid {
  readonly stream: Stream;
  readonly values: Float64Array;
}

/** Intervals on which streams or files are added. */
export interface Intervals {
  readonly startMs: number;
  readonly stepMs: number;
  readonly intervals: number;
}

/** What intervals of the grid are by the local clock. */
export interface LocalSlots {
  /** Days from the first, of each interval. */
  readonly day: Int32Array;
  /** Steps from midnight, of each interval. */
  readonly ofDay: Int32Array;
  /** The civil day of the first. */
  readonly firstDay: number;
  readonly days: number;
}

/** A part of a channel: a meter, or a register of one. */
export interface Added {
  readonly name: string;
  readonly line: number;
  readonly values: Float64Array;
  /** Days of which it, or what it was added up from, has a reading. */
  readonly days: Uint8Array;
  /**
   * `in-turn`: the file itself names it as a register of which only one counts at a time. `any-time`: a meter, a circuit, or
   * the windows together. `unsaid`: its readings may show that it takes turns.
   */
  readonly counts: 'in-turn' | 'any-time' | 'unsaid';
  /** What files call it, where it is the register of a price window. */
  readonly window?: string | undefined;
}

/** Days that one meter and the one after it may both have: the old one is read as the new one begins. */
const MOST_SHARED_DAYS = 2;
/** Of the intervals in which a register counts, those in which another may count too: the price changes within them. */
export const MOST_AT_ONCE = 0.1;
/** The same, of registers that are named for price windows: where more do, it was asked. */
const MOST_AT_ONCE_NAMED = 0.5;
/** Fewer intervals prove nothing. */
const ENOUGH = 12;
/** A part that leaves out its zeros may have none for a few days. */
const TOLD_RUN = 7;
/** Others that a sentence names one by one. */
const MOST_OTHERS = 6;
/** Steps of 5 minutes between the midnights of a clock. */
const DAY_SLOTS = 288;

export function localSlots({ startMs, stepMs, intervals }: Intervals, zone: string): LocalSlots {
  const spans = offsetSpans(zone, startMs, startMs + intervals * stepMs);
  const day = new Int32Array(intervals);
  const ofDay = new Int32Array(intervals);
  const localOf = (ms: number, offsetMinutes: number) => ms + offsetMinutes * MINUTE_MS;
  const firstDay = Math.floor(localOf(startMs, spans[0]!.offsetMinutes) / DAY_MS);
  let span = 0;
  for (let i = 0; i < intervals; i++) {
    const ms = startMs + i * stepMs;
    while (span + 1 < spans.length && spans[span + 1]!.fromEpochMs <= ms) span++;
    const local = localOf(ms, spans[span]!.offsetMinutes);
    day[i] = Math.floor(local / DAY_MS) - firstDay;
    ofDay[i] = Math.floor((local - (firstDay + day[i]!) * DAY_MS) / stepMs);
  }
  return { day, ofDay, firstDay, days: (day.at(-1) ?? -1) + 1 };
}

/**
 * Streams of one channel as one: the registers of each meter, then the meters. What one of them lacks is not known, unless
 * something says that it counted nothing: see {@link addUp}.
 */
export function uniteStreams(
  list: readonly OnGrid[],
  channel: Channel | 'net',
  grid: Intervals,
  { repeats, zone }: ParseOptions & { zone: string },
  findings: FindingList,
): Float64Array {
  if (list.length === 1) return list[0]!.values;
  const slots = localSlots(grid, zone);
  const meters = new Map<number | undefined, OnGrid[]>();
  for (const each of list) meters.set(each.stream.point, [...(meters.get(each.stream.point) ?? []), each]);
  const united = [...meters].map(([point, streams]): Added => {
    const registers = registersOf(streams, meters.size > 1 ? ` of usage point ${point ?? 1}` : '', repeats, slots);
    const always = streams.every(({ stream }) => stream.part?.kind === 'always');
    const values = always ? allKnown(registers) : addRegisters(registers, channel, slots, findings);
    return added(registers, `usage point ${point ?? 1}`, values);
  });
  return addUp(united, channel, slots, findings);
}

/** Adds registers of one meter. The windows are one whole, beside which a circuit may count at any time. */
export function addRegisters(
  registers: readonly Added[],
  channel: Channel | 'net',
  slots: LocalSlots,
  findings: FindingList,
): Float64Array {
  const windows = registers.filter(({ counts }) => counts === 'in-turn');
  if (windows.length < 2) return addUp(registers, channel, slots, findings);
  const whole = added(windows, listed(windows.map(({ name }) => name)), addUp(windows, channel, slots, findings));
  return addUp([whole, ...registers.filter(({ counts }) => counts !== 'in-turn')], channel, slots, findings);
}

/** The registers of a meter: streams of one name are one, which by now share no times. */
function registersOf(
  streams: readonly OnGrid[],
  ofMeter: string,
  repeats: ParseOptions['repeats'],
  slots: LocalSlots,
): Added[] {
  const registers = new Map<string, Added>();
  for (const [k, { stream, values }] of streams.entries()) {
    const { part, reading } = stream;
    // But where the user says that what shares them is to be added.
    const id = repeats === 'add' && part?.kind !== 'always' ? String(k) : (part?.id ?? '');
    const register: Added = {
      name: `${reading === undefined ? nameOf(stream) : `meter reading ${reading}`}${ofMeter}`,
      line: firstLine(stream),
      values,
      days: daysOf(values, slots),
      counts: countsOf(stream),
      window: part?.kind === 'window' ? knownAs(part) : undefined,
    };
    const known = registers.get(id);
    registers.set(id, known === undefined ? register : joinedTo(known, register, known.name));
  }
  return [...registers.values()];
}

/** When a part counts, as far as the file itself names it. */
export function countsOf({ part, kind }: Stream): Added['counts'] {
  if (part?.kind === 'window' && kind?.stated !== true) return 'in-turn';
  return part?.kind === 'circuit' ? 'any-time' : 'unsaid';
}

/** Several that were added up, as one. */
export function added(parts: readonly Added[], name: string, values: Float64Array): Added {
  const days = parts.map((part) => part.days).reduce(eitherHas);
  return { name, line: parts[0]!.line, values, days, counts: 'any-time' };
}

/** Two that aren't both there at one time, as one. */
function joinedTo(one: Added, other: Added, name: string): Added {
  return {
    name,
    line: one.line,
    values: together(one.values, other.values),
    days: eitherHas(one.days, other.days),
    counts: bothCounts(one.counts, other.counts),
    window: one.window,
  };
}

function bothCounts(one: Added['counts'], other: Added['counts']): Added['counts'] {
  if (one === other) return one;
  return one === 'any-time' || other === 'any-time' ? 'any-time' : 'unsaid';
}

function eitherHas(one: Uint8Array, other: Uint8Array): Uint8Array {
  return one.map((has, d) => has | other[d]!);
}

/** One where the other has none, and both added where both have. */
export function together(one: Float64Array, other: Float64Array): Float64Array {
  return Float64Array.from(one, (a, i) => {
    const b = other[i]!;
    return Number.isNaN(a) ? b : Number.isNaN(b) ? a : a + b;
  });
}

/** The sum where all are known. */
export function allKnown(parts: readonly Added[]): Float64Array {
  const sum = Float64Array.from(parts[0]!.values);
  for (const { values } of parts.slice(1)) for (let i = 0; i < sum.length; i++) sum[i] = sum[i]! + values[i]!;
  return sum;
}

/**
 * Adds parts of a channel. Meters of which one follows the other are one. What a part lacks is 0 where it leaves rows out
 * within days that it has, as portals leave out zeros; and where it takes turns with others (price windows), on days on
 * which those count in its hours, or of which it never has one. Else it isn't known, and neither is the sum.
 */
function addUp(
  parts: readonly Added[],
  channel: Channel | 'net',
  slots: LocalSlots,
  findings: FindingList,
): Float64Array {
  const joined = joinFollowing(parts, slots);
  const sum = joined.map(({ values }) => values).reduce(together);
  if (joined.length === 1) return sum;
  for (const part of joined) {
    const others = joined.filter((other) => other !== part);
    const lack = lackOf(part, others, slots);
    if (lack === undefined) continue;
    const { isParallel, unknownDays, zeroDays } = lack;
    for (let i = 0; i < sum.length; i++) {
      const day = slots.day[i]!;
      if (Number.isNaN(part.values[i]!) && (unknownDays.has(day) || (isParallel && !zeroDays.has(day))))
        sum[i] = Number.NaN;
    }
    if (unknownDays.size > 0) tell('unknown', part, others, channel, [...unknownDays], slots, findings);
    if (lack.taken.length > 0) tell('zero', part, others, channel, lack.taken, slots, findings);
  }
  return sum;
}

/**
 * Parts that have no days in common, or only those of a change of meters, as one part: but not the dear register and the cheap
 * one, of which each goes on counting where the other's days are.
 */
function joinFollowing(parts: readonly Added[], slots: LocalSlots): Added[] {
  const joined: Added[] = [];
  for (const part of parts) {
    const days = daysOf(part.values, slots);
    if (!days.includes(1)) continue;
    const at = joined.findIndex(
      (other) => !areDifferentWindows(part.window, other.window) && follow(days, daysOf(other.values, slots)),
    );
    if (at < 0) joined.push(part);
    else joined[at] = joinedTo(joined[at]!, part, `${joined[at]!.name} and ${part.name}`);
  }
  return joined.length === 0 ? [parts[0]!] : joined;
}

export function daysOf(values: Float64Array, { day, days }: LocalSlots): Uint8Array {
  const has = new Uint8Array(days);
  for (let i = 0; i < values.length; i++) if (!Number.isNaN(values[i]!)) has[day[i]!] = 1;
  return has;
}

function follow(one: Uint8Array, other: Uint8Array): boolean {
  let shared = 0;
  for (let d = 0; d < one.length; d++) shared += one[d]! & other[d]!;
  if (shared === 0) return true;
  const first = one.indexOf(1) - other.indexOf(1);
  const last = one.lastIndexOf(1) - other.lastIndexOf(1);
  return shared <= MOST_SHARED_DAYS && first * last > 0;
}

interface Lack {
  /** On days that it has, it has what the others have: an interval without a reading is not known. */
  readonly isParallel: boolean;
  /** Days that it lacks, from the first of the grid. */
  readonly unknownDays: ReadonlySet<number>;
  readonly zeroDays: ReadonlySet<number>;
  /** Days that it lacks in long runs, and on which it is taken for 0. */
  readonly taken: readonly number[];
}

/** What a part lacks that others have; undefined where it lacks no day and no interval. */
function lackOf(part: Added, all: readonly Added[], slots: LocalSlots): Lack | undefined {
  const { values } = part;
  const others = all.map((other) => other.values).reduce(together);
  const [has, othersHave] = [daysOf(values, slots), daysOf(others, slots)];
  let both = 0;
  let either = 0;
  let counting = 0;
  let atOnce = 0;
  /** What it counts in each interval of a day. */
  const usualKwh = new Float64Array(DAY_SLOTS);
  for (let i = 0; i < values.length; i++) {
    if (has[slots.day[i]!] === 0 || othersHave[slots.day[i]!] === 0) continue;
    const [a, b] = [values[i]!, others[i]!];
    if (!Number.isNaN(a) || !Number.isNaN(b)) either++;
    if (!Number.isNaN(a) && !Number.isNaN(b)) both++;
    if (!(a > 0)) continue;
    counting++;
    if (b > 0) atOnce++;
    usualKwh[slots.ofDay[i]!] = usualKwh[slots.ofDay[i]!]! + a;
  }
  const isParallel = both > either / 2;
  const lacking: number[] = [];
  for (let d = 0; d < has.length; d++) if (has[d] === 0 && othersHave[d] === 1) lacking.push(d);
  // Nothing shows what it counts while the others do.
  if (either === 0) return { isParallel, unknownDays: new Set(lacking), zeroDays: new Set(), taken: [] };
  const counts = [part, ...all].map((each) => each.counts).reduce(bothCounts);
  const takesTurns =
    counts === 'in-turn'
      ? atOnce <= MOST_AT_ONCE_NAMED * counting
      : counts === 'unsaid' && counting >= ENOUGH && atOnce <= MOST_AT_ONCE * counting;
  if (!takesTurns && isParallel) return { isParallel, unknownDays: new Set(lacking), zeroDays: new Set(), taken: [] };
  if (!takesTurns) {
    const taken = dayRuns(lacking).filter(({ from, to }) => to - from + 1 >= TOLD_RUN);
    return {
      isParallel,
      unknownDays: new Set(),
      zeroDays: new Set(lacking),
      taken: lacking.filter((d) => taken.some(({ from, to }) => d >= from && d <= to)),
    };
  }
  const weekdays = new Set<number>();
  for (let d = 0; d < has.length; d++) if (has[d] === 1) weekdays.add(weekdayOfCivilDay(slots.firstDay + d));
  const knownKwh = new Float64Array(slots.days);
  const countedKwh = new Float64Array(slots.days);
  for (let i = 0; i < values.length; i++) {
    const usual = usualKwh[slots.ofDay[i]!]!;
    const day = slots.day[i]!;
    if (!Number.isNaN(others[i]!)) knownKwh[day] = knownKwh[day]! + usual;
    if (others[i]! > 0) countedKwh[day] = countedKwh[day]! + usual;
  }
  const allKwh = usualKwh.reduce((sum, kwh) => sum + kwh, 0);
  const isZero = (d: number) =>
    !weekdays.has(weekdayOfCivilDay(slots.firstDay + d)) ||
    // Nobody has a reading in its hours: they are gaps as it is.
    knownKwh[d]! <= allKwh / 2 ||
    countedKwh[d]! > knownKwh[d]! / 2;
  return {
    isParallel,
    unknownDays: new Set(lacking.filter((d) => !isZero(d))),
    zeroDays: new Set(lacking.filter(isZero)),
    taken: [],
  };
}

export function tell(
  counted: 'unknown' | 'zero',
  { name, line, values, days: known }: Added,
  others: readonly Added[],
  channel: Channel | 'net',
  lacking: readonly number[],
  slots: LocalSlots,
  findings: FindingList,
): void {
  // What one of its own parts lacks was told of that.
  const days = lacking.filter((day) => known[day] === 0);
  if (days.length === 0) return;
  const lacks = new Set(days);
  let othersKwh = 0;
  for (let i = 0; i < values.length; i++)
    if (lacks.has(slots.day[i]!)) for (const other of others) othersKwh += other.values[i]! || 0;
  findings.add(
    'part-missing',
    'warning',
    {
      part: name,
      role: channel,
      counted,
      days: days.length,
      runs: toldRuns(days.map((day) => slots.firstDay + day)),
      others: others.slice(0, MOST_OTHERS).map((other) => other.name),
      othersKwh,
    },
    { line, count: days.length, key: `${name} ${channel} ${counted}` },
  );
}
