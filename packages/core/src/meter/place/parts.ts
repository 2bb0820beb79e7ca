import type { DataOf } from '../../words/fact.ts';
import type { PlacingWords } from '../../words/placing.ts';
import type { FindingList } from '../findings.ts';
import { kwhPer } from '../kwh.ts';
import type { ParseOptions, Unit } from '../options.ts';
import type { Group, Readings, Role, Stream } from '../readings.ts';
import { noteRepeats } from './repeats.ts';
import { firstLine, toldStream } from './told-stream.ts';

/**
 * Asks what rows are whose type, register, channel or direction cell says nothing that is known here, where a file has
 * rows of several kinds: one may be import and the other export.
 *
 * @returns false, with an error finding, where it asks
 */
export function settleKinds(readings: Readings, options: ParseOptions, findings: FindingList): boolean {
  for (const streams of byPoint(readings.streams)) {
    const kinds = new Set(streams.map((stream) => stream.kind));
    if (kinds.size < 2 || options.channel !== undefined) continue;
    const directed = streams.some(({ role }) => role !== 'import' && role !== 'load');
    // Rows without a word beside rows of import are import; beside rows of export they may be anything.
    const unclear = streams.filter(
      ({ unclear, kind, role }) => unclear === true || (kind?.blank === true && directed && role === 'import'),
    );
    if (unclear.length > 0) {
      findings.add(
        'rows-unclear',
        'error',
        { why: 'not-understood', streams: unclear.map(toldStream) },
        { lines: unclear.map(firstLine), count: unclear.length },
      );
      return false;
    }
    grossUse(streams);
  }
  return true;
}

/** Beside gross solar, with neither import nor export named, "consumption" is what the home used. */
function grossUse(streams: readonly Stream[]): void {
  const told = streams.filter((stream) => stream.kind?.role !== undefined);
  if (!told.some(({ role }) => role === 'solar') || told.some(({ role }) => role !== 'solar' && role !== 'net')) return;
  for (const stream of streams)
    if (stream.kind?.gross === true) {
      stream.role = 'load';
      stream.gross = true;
    }
}

/**
 * Readings of one channel for the same times are added only where they are known to be parts of one whole: registers of
 * price windows, circuits, or what the user says. The same energy once more (a total beside its parts, Wh beside W, a
 * register beside what it counts, a copy) is left out, with a finding. Everything else is a question.
 *
 * @returns false, with an error finding, where it asks
 */
export function settleParts(groups: readonly Group[], options: ParseOptions, findings: FindingList): boolean {
  const stepOf = new Map<Stream, number>();
  for (const { streams, stepMs } of groups) for (const stream of streams) stepOf.set(stream, stepMs);
  const left = new Set<Stream>();
  let clear = true;
  for (const point of byPoint([...stepOf.keys()]))
    for (const role of ['import', 'export', 'load', 'solar', 'net'] as const) {
      const same = point.filter((stream) => stream.role === role);
      if (same.length < 2) continue;
      const asked = new Set<Stream>();
      // Before what two of them both hold is counted once.
      const told = new Map(same.map((stream) => [stream, toldStream(stream)]));
      let why: WhyUnclear = 'same-times';
      for (const [k, one] of same.entries())
        for (const other of same.slice(k + 1)) {
          const areWhole = areParts(one, other);
          if (left.has(one) || left.has(other) || (areWhole && !areWindows(one, other))) continue;
          const shared = sharedTimes(one, other, stepOf.get(one)!, stepOf.get(other)!);
          if (shared === undefined) continue;
          if (areWhole) {
            if (!bothCount(one, other, shared) || joined(one, other, shared, options, findings)) continue;
            asked.add(one).add(other);
            why = 'windows-at-once';
            continue;
          }
          const loser = alternative(one, other, shared, findings);
          if (loser !== undefined) left.add(loser);
          else if (!joined(one, other, shared, options, findings)) asked.add(one).add(other);
        }
      if (asked.size === 0) continue;
      clear = false;
      askParts(why, role, [...asked], findings, (stream) => told.get(stream)!);
    }
  for (const group of groups) group.streams = group.streams.filter((stream) => !left.has(stream));
  return clear;
}

type WhyUnclear = DataOf<PlacingWords, 'parts-unclear'>['why'];

/** Asks which of several readings of a channel are to be read, or added. */
export function askParts(
  why: WhyUnclear,
  role: Role,
  streams: readonly Stream[],
  findings: FindingList,
  told = toldStream,
): void {
  const answer = streams.some(({ reading }) => reading !== undefined)
    ? 'meterReading'
    : new Set(streams.map(({ kind }) => kind)).size > 1
      ? 'rows'
      : 'columns';
  findings.add(
    'parts-unclear',
    'error',
    { why, answer, role, streams: streams.map(told) },
    { lines: streams.map(firstLine), count: streams.length, key: role },
  );
}

/** Streams of one meter or usage point together. */
export function byPoint(streams: readonly Stream[]): Stream[][] {
  const points = new Map<number, Stream[]>();
  for (const stream of streams) {
    const list = points.get(stream.point ?? 1);
    if (list === undefined) points.set(stream.point ?? 1, [stream]);
    else list.push(stream);
  }
  return [...points.values()];
}

/** Whether two streams are parts of one whole: by different names, or one as a circuit with a register of its own beside the rest. */
export function areParts(one: Stream, other: Stream): boolean {
  if (one.part !== undefined && other.part !== undefined) return one.part.id !== other.part.id;
  if (one.total === true || other.total === true) return false;
  return (one.part?.kind === 'circuit') !== (other.part?.kind === 'circuit');
}

/** Whether two parts are registers of which only one can count at a time, as far as the file itself names them. */
function areWindows(one: Stream, other: Stream): boolean {
  return [one, other].every(({ part, kind }) => part?.kind === 'window' && kind?.stated !== true);
}

/** Fewer readings prove nothing. */
const ENOUGH = 12;

/** Whether two registers both count on in more than half of the times that they share. */
function bothCount(one: Stream, other: Stream, { pairs }: Shared): boolean {
  if (pairs.length < ENOUGH || one.cumulative !== other.cumulative) return false;
  const inTime = one.cumulative
    ? [...pairs].sort((a, b) => one.labels.labelMs[a[0]]! - one.labels.labelMs[b[0]]!)
    : pairs;
  let both = 0;
  for (const [k, [i, j]] of inTime.entries()) {
    const [formerI, formerJ] = one.cumulative ? (inTime[k - 1] ?? [i, j]) : [-1, -1];
    const before = ({ values }: Stream, at: number) => (at < 0 ? 0 : values[at]!);
    if (one.values[i]! > before(one, formerI) && other.values[j]! > before(other, formerJ)) both++;
  }
  return both > inTime.length / 2;
}

/** The times for which two streams both have a value. */
interface Shared {
  /** Places in the one and in the other, pair by pair. */
  readonly pairs: readonly (readonly [number, number])[];
  /** Pairs whose values aren't the same energy. */
  readonly unlike: readonly (readonly [number, number])[];
  readonly oneStepMs: number;
  readonly otherStepMs: number;
  /** All but a few pairs are the same energy. */
  readonly alike: boolean;
  /** Share of the readings of the one, and of the other, that have a partner. */
  readonly shareOfOne: number;
  readonly shareOfOther: number;
}

function sharedTimes(one: Stream, other: Stream, oneStepMs: number, otherStepMs: number): Shared | undefined {
  const pairs: [number, number][] = [];
  if (one.labels === other.labels) {
    for (let i = 0; i < one.labels.count; i++)
      if (!Number.isNaN(one.values[i]!) && !Number.isNaN(other.values[i]!)) pairs.push([i, i]);
  } else {
    const startOf = ({ labels }: Stream, i: number, stepMs: number) =>
      labels.labelMs[i]! - (labels.labelEnd.at === 'end' ? stepMs : 0);
    const at = new Map<number, number>();
    for (let i = 0; i < one.labels.count; i++) if (!Number.isNaN(one.values[i]!)) at.set(startOf(one, i, oneStepMs), i);
    for (let i = 0; i < other.labels.count; i++) {
      const known = Number.isNaN(other.values[i]!) ? undefined : at.get(startOf(other, i, otherStepMs));
      if (known !== undefined) pairs.push([known, i]);
    }
  }
  if (pairs.length === 0) return undefined;
  const oneFactor = factorOf(one.unit ?? other.unit, oneStepMs);
  const otherFactor = factorOf(other.unit ?? one.unit, otherStepMs);
  const unlike: [number, number][] = [];
  let live = 0;
  for (const pair of pairs) {
    const a = Math.abs(one.values[pair[0]]! * oneFactor);
    const b = Math.abs(other.values[pair[1]]! * otherFactor);
    if (Math.max(a, b) > WATT_HOUR) live++;
    // The same but for rounding: to a watt-hour, or to a hundredth.
    if (Math.abs(a - b) > Math.max(WATT_HOUR, 0.01 * Math.max(a, b))) unlike.push(pair);
  }
  return {
    pairs,
    unlike,
    oneStepMs,
    otherStepMs,
    alike: unlike.length <= live / 200,
    shareOfOne: pairs.length / countOf(one),
    shareOfOther: pairs.length / countOf(other),
  };
}

/** Half of the last digit of a value in kWh that is printed to the watt-hour, and a little. */
const WATT_HOUR = 0.000_51;

function factorOf(unit: Unit | undefined, stepMs: number): number {
  return unit === undefined ? 1 : kwhPer(unit, stepMs);
}

/** A stream is left out only where at least this share of its readings stands in the other one too. */
const COVERED = 0.9;

/** Which of two is the same energy once more and is left out, by what it is; undefined where neither is. */
function alternative(one: Stream, other: Stream, shared: Shared, findings: FindingList): Stream | undefined {
  const isPower = ({ unit }: Stream) => unit !== undefined && !/h$|minutes$/.test(unit);
  const find = (why: WhyLeft, is: (stream: Stream) => boolean) =>
    is(one) === is(other) ? undefined : { why, loser: is(one) ? one : other };
  const found =
    find('running-total', ({ cumulative }) => cumulative) ??
    find('power', isPower) ??
    find('part-of-total', ({ total }) => total !== true) ??
    (shared.alike && shared.unlike.length === 0
      ? { why: 'copy' as const, loser: shared.shareOfOne > shared.shareOfOther ? one : other }
      : undefined);
  if (found === undefined) return undefined;
  const { loser, why } = found;
  if ((loser === one ? shared.shareOfOne : shared.shareOfOther) < COVERED) return undefined;
  noteAlternative(why, loser, findings, { line: firstLine(loser), count: countOf(loser) });
  return loser;
}

type WhyLeft = DataOf<PlacingWords, 'alternative-left'>['why'];

/** Says that a stream holds the same energy once more and is left out: once for each stream. */
export function noteAlternative(
  why: WhyLeft,
  stream: Stream,
  findings: FindingList,
  more: { readonly line?: number; readonly count?: number } = {},
): void {
  const left = toldStream(stream);
  findings.add('alternative-left', 'note', { why, left }, { ...more, key: Object.values(left).join('\n') });
}

/** Counts once what two streams both hold, as `repeats` says or because they agree; false where neither is so. */
function joined(one: Stream, other: Stream, shared: Shared, options: ParseOptions, findings: FindingList): boolean {
  const { repeats } = options;
  if (repeats === 'add') return true;
  if (one.cumulative !== other.cumulative || (repeats === undefined && !shared.alike)) return false;
  const [lost, at] = repeats === 'last' ? ([one, 0] as const) : ([other, 1] as const);
  let sum = 0;
  for (const pair of shared.pairs) {
    sum += Math.abs(lost.values[pair[at]]!);
    lost.values[pair[at]] = Number.NaN;
  }
  if (repeats !== undefined) {
    const { length: readings } = shared.pairs;
    const kwh =
      lost.unit === undefined ? null : sum * kwhPer(lost.unit, at === 0 ? shared.oneStepMs : shared.otherStepMs);
    noteRepeats(repeats, lost, { readings, differing: shared.unlike.length, kwh }, findings);
    return true;
  }
  findings.add('duplicate', 'note', { of: 'series' }, { count: shared.pairs.length - shared.unlike.length });
  if (shared.unlike.length === 0) return true;
  for (const [i] of shared.unlike) one.values[i] = Number.NaN;
  findings.add(
    'duplicate-differs',
    'warning',
    { became: 'gaps' },
    { lines: shared.unlike.map(([, j]) => other.labels.line[j]!), count: shared.unlike.length },
  );
  return true;
}

function countOf({ values, labels }: Stream): number {
  let count = 0;
  for (let i = 0; i < labels.count; i++) if (!Number.isNaN(values[i]!)) count++;
  return count;
}
