import { zoneOffsetMinutes } from '../../axis/inside.ts';
import { DAY_MS, HOUR_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import type { Evidence, Group, LabelEnd, Stream } from '../readings.ts';

/** Of days, and of falls, so many must be as a day's total makes them. Its rest are gaps, corrections, days without use. */
const MOST = 0.9;

/** Readings that rise on the one before, as a share: what a home draws rises in half of its hours and falls in the others. */
const RISING = 0.25;

/** Readings too few to tell a day's total by. */
const ENOUGH = 36;

/** The readings of a stream in the order of time. */
interface InOrder {
  /** Places in the stream. */
  readonly at: Int32Array;
  /** How far each label is from the one before, ms; NaN for the first. */
  readonly apartMs: Float64Array;
}

/**
 * Reads the running total of a day, which starts anew at midnight, as the energy of its intervals: each reading less the
 * one before, the first of a day from zero. Told by the values: they fall once a day, at one time of it, to what one
 * interval adds, and nowhere else. Where the last interval of each day isn't counted, an error finding refuses it.
 */
export function readDayTotals(groups: readonly Group[], zone: string, evidence: Evidence, findings: FindingList): void {
  const ends = new Map<LabelEnd, LabelEnd>();
  for (const { streams, stepMs } of groups)
    for (const stream of streams) {
      if (stream.cumulative) continue;
      const order = inOrder(stream);
      const phaseMs = order && resetPhase(stream, order, stepMs, zone);
      if (order === undefined || phaseMs === undefined) continue;
      const { labels, source } = stream;
      const isPower = stream.unit !== undefined && !/h$|minutes$/.test(stream.unit);
      if (isPower || losesLastStep(stream, order)) {
        findings.add('day-total-unclear', 'error', { stream: source, why: isPower ? 'power' : 'starts-at-zero' });
        continue;
      }
      if (labels.clock === 'local' && labels.labelEnd.why === 'assumed') {
        const told: LabelEnd = { at: phaseMs === stepMs ? 'end' : 'start', why: 'day-total' };
        ends.set(labels.labelEnd, told);
        labels.labelEnd = told;
      }
      const lost = differ(stream, order, stepMs, phaseMs, zone);
      findings.add('day-total-differenced', 'note', { stream: source, gaps: lost }, { key: source });
    }
  for (const [k, told] of evidence.entries()) if (typeof told !== 'string') evidence[k] = ends.get(told) ?? told;
}

/** Undefined where rows go back in time by more than an hour that a clock repeats. */
function inOrder({ labels, values }: Stream): InOrder | undefined {
  const { labelMs, count } = labels;
  const newestFirst = count > 1 && labelMs[0]! > labelMs[count - 1]!;
  const at = new Int32Array(count);
  const apartMs = new Float64Array(count);
  let found = 0;
  let last = -1;
  for (let k = 0; k < count; k++) {
    const i = newestFirst ? count - 1 - k : k;
    if (Number.isNaN(values[i]!)) continue;
    const apart = last < 0 ? Number.NaN : labelMs[i]! - labelMs[last]!;
    if (apart < -HOUR_MS) return undefined;
    at[found] = i;
    apartMs[found++] = apart;
    last = i;
  }
  return found < ENOUGH ? undefined : { at: at.subarray(0, found), apartMs: apartMs.subarray(0, found) };
}

/** How far labels are apart that follow each other by one step: an hour more or less where the zone's clock changes. */
function follows({ labels }: Stream, i: number, apartMs: number, stepMs: number, zone: string): boolean {
  if (apartMs === stepMs) return true;
  if (labels.clock === 'utc' || Math.abs(apartMs - stepMs) !== HOUR_MS) return false;
  const offsetAt = (days: number) => zoneOffsetMinutes(zone, labels.labelMs[i]! + days * DAY_MS);
  return (offsetAt(1) - offsetAt(-1)) * 60_000 === apartMs - stepMs;
}

/** The time of day of the labels at which a total starts anew, ms; undefined where the values are no total of a day. */
function resetPhase(stream: Stream, { at, apartMs }: InOrder, stepMs: number, zone: string): number | undefined {
  const { labels, values } = stream;
  const falls = new Map<number, number>();
  const daysByStart = new Set<number>();
  const daysByEnd = new Set<number>();
  let fallen = 0;
  let rises = 0;
  let pairs = 0;
  let toOneStep = 0;
  let mostStep = 0;
  let [day, dayByEnd] = [Number.NaN, Number.NaN];
  for (let k = 1; k < at.length; k++) {
    const i = at[k]!;
    const value = values[i]!;
    const step = value - values[at[k - 1]!]!;
    if (value < 0) return undefined;
    // Midnight belongs to the day before where labels are ends.
    const days = labels.labelMs[i]! / DAY_MS;
    const [floor, ceil] = [Math.floor(days), Math.ceil(days)];
    // Looked up once a day: a set asked for each reading takes most of this loop.
    if (floor !== day) daysByStart.add(floor);
    if (ceil !== dayByEnd) daysByEnd.add(ceil);
    day = floor;
    dayByEnd = ceil;
    if (step < 0) {
      fallen++;
      const phase = labels.labelMs[i]! % DAY_MS;
      falls.set(phase, (falls.get(phase) ?? 0) + 1);
      // What a whole day's steps come to is far above the most of one.
      if (value <= mostStep) toOneStep++;
      // Too many fell to more already, were all that is left of the others: so it is with what a home draws.
      if (fallen - toOneStep > Math.max(1, (1 - MOST) * (fallen + at.length - k))) return undefined;
      mostStep = 0;
      continue;
    }
    pairs++;
    if (step > 0) rises++;
    if (follows(stream, i, apartMs[k]!, stepMs, zone)) mostStep = Math.max(mostStep, step);
  }
  if (fallen === 0 || fallen < MOST * (Math.min(daysByStart.size, daysByEnd.size) - 1) || rises < RISING * pairs)
    return undefined;
  // One missing row may cut a short file.
  const odd = Math.max(fallen > 3 ? 1 : 0, (1 - MOST) * fallen);
  if (fallen - toOneStep > odd) return undefined;
  const [phase] = [...falls].reduce((a, b) => (b[1] > a[1] ? b : a));
  // In UTC, midnight is at another hour in summer.
  const slackMs = labels.clock === 'utc' ? HOUR_MS : 0;
  let there = 0;
  for (const [other, count] of falls) {
    const off = Math.abs(other - phase);
    if (Math.min(off, DAY_MS - off) <= slackMs) there += count;
  }
  if (fallen - there > odd) return undefined;
  return labels.clock === 'utc' || phase <= stepMs ? phase : undefined;
}

/**
 * Whether days start with a reading of zero though something was still drawn at their end: then each reading is the total
 * at the moment of its label, and what the last interval of a day adds is never shown.
 */
function losesLastStep({ values }: Stream, { at }: InOrder): boolean {
  let falls = 0;
  let lost = 0;
  for (let k = 2; k < at.length; k++) {
    if (!(values[at[k]!]! < values[at[k - 1]!]!)) continue;
    falls++;
    if (values[at[k]!] === 0 && values[at[k - 1]!]! > values[at[k - 2]!]!) lost++;
  }
  return lost > falls / 2;
}

/** Puts the energy of each interval in place of the total; what no neighbour tells is a gap. Returns how many those are. */
function differ(stream: Stream, { at, apartMs }: InOrder, stepMs: number, phaseMs: number, zone: string): number {
  const { labels, values } = stream;
  let gaps = 0;
  let before = Number.NaN;
  for (const [k, i] of at.entries()) {
    const value = values[i]!;
    const startsDay = labels.labelMs[i]! % DAY_MS === phaseMs;
    const known = k > 0 && follows(stream, i, apartMs[k]!, stepMs, zone);
    let kwh = Number.NaN;
    if (startsDay && labels.clock === 'local') kwh = value;
    else if (known) kwh = value >= before ? value - before : labels.clock === 'utc' ? value : Number.NaN;
    else if (startsDay && k === 0) kwh = value;
    if (Number.isNaN(kwh)) gaps++;
    values[i] = kwh;
    before = value;
  }
  return gaps;
}
