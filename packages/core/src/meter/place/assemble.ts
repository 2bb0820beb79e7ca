import { makeAxis, offsetMinutesAt, STEP_MINUTES } from '../../axis/index.ts';
import { quoteCell } from '../../input/quote.ts';
import { FindingList } from '../findings.ts';
import { kwhPer } from '../kwh.ts';
import type { ParseOptions, Unit } from '../options.ts';
import type { Labels, Readings, Stream } from '../readings.ts';
import { CHANNELS, type Channel, channelField, ESTIMATED, type IntervalSeries } from '../series.ts';
import { placeLabels } from './clock.ts';
import { settleLabelEnds } from './label-end.ts';
import { areParts, askParts, type Group, settleParts } from './parts.ts';
import { checkYear, settleUnits } from './units.ts';

const MINUTE_MS = 60_000;
const HOUR_MS = 3_600_000;
/** Steps of more than this many intervals are taken for a mistake in the dates. */
const MAX_SLOTS = 6_000_000;

/** So many equal distances on end are no accident. */
const LONG_RUN = 8;

/** Series, and the lines of the file that intervals of them come from: of the largest reading in each. */
export interface Assembled {
  readonly series: IntervalSeries;
  linesOf(intervals: readonly number[]): number[];
}

/** Puts readings on one axis: steps, clock changes, units, signs, duplicates and gaps are settled here. */
export function assemble(
  readings: Readings,
  options: ParseOptions & { zone: string },
  findings: FindingList,
): Assembled | undefined {
  const { zone } = options;
  const { evidence } = readings;
  const groups = groupByLabels(readings.streams, findings);
  if (groups === undefined) return undefined;
  settleLabelEnds(groups, evidence);
  for (const { streams } of groups)
    for (const stream of streams)
      if (!stream.cumulative && looksCumulative(stream)) {
        stream.cumulative = true;
        findings.add('register-differenced', 'note', `${stream.source} never falls: read as a meter’s running total`, {
          key: stream.source,
        });
      }
  const resolved = chooseResolution(groups, findings);
  if (resolved === undefined || !settleParts(resolved, options, findings)) return undefined;
  const used = resolved.filter(({ streams }) => streams.length > 0);
  if (used.length === 0) {
    findings.add('no-readings', 'error', 'no reading was found');
    return undefined;
  }
  const units = settleUnits(readings, used, options, findings, evidence);
  if (units === undefined) return undefined;

  // One grid for all: the longest step among what is read.
  const nativeMs = Math.max(...used.map((group) => group.stepMs));
  evidence.push(`one reading every ${describeStep(Math.min(...used.map((group) => group.stepMs)))}`);
  const placedGroups: { group: Group; slots: Float64Array; alsoAt: ReadonlyMap<number, number> }[] = [];
  let startMs = Number.POSITIVE_INFINITY;
  let endMs = Number.NEGATIVE_INFINITY;
  for (const group of used) {
    const { streams } = group;
    const sizes = (i: number) => {
      let sum = Number.NaN;
      for (const stream of streams) {
        const value = stream.values[i]!;
        if (!Number.isNaN(value)) sum = (!Number.isNaN(sum) ? sum : 0) + Math.abs(value);
      }
      return sum;
    };
    if (group.labels.clock === 'utc') moveRepeatedHour(group, findings);
    const placed = placeLabels(group.labels, group.stepMs, zone, options.clock, sizes, findings, evidence);
    snapToGrid(placed.startMs, group, findings);
    for (let i = 0; i < placed.startMs.length; i++) {
      const start = placed.startMs[i]!;
      if (start < startMs) startMs = start;
      if (start + group.stepMs > endMs) endMs = start + group.stepMs;
    }
    for (const start of placed.alsoAt.values()) if (start + group.stepMs > endMs) endMs = start + group.stepMs;
    placedGroups.push({ group, slots: placed.startMs, alsoAt: placed.alsoAt });
  }
  if (!(endMs > startMs)) {
    findings.add('no-readings', 'error', 'no reading could be placed in time');
    return undefined;
  }

  const stepMinutes = STEP_MINUTES.find(
    (minutes) => minutes * MINUTE_MS >= nativeMs && (minutes * MINUTE_MS) % nativeMs === 0,
  );
  if (stepMinutes === undefined) {
    findings.add('step-unsupported', 'error', `an interval of ${describeStep(nativeMs)} does not fit into an hour`);
    return undefined;
  }
  const axisStepMs = stepMinutes * MINUTE_MS;
  if (axisStepMs > nativeMs)
    findings.add(
      'summed-to-coarser',
      'note',
      `readings of ${describeStep(nativeMs)} were summed to ${stepMinutes} minutes`,
    );
  // Coarse slots begin where they would on an axis from midnight; the meter's own phase is kept within them.
  const phaseMs = axisStepMs > nativeMs ? 0 : mod(startMs, axisStepMs);
  startMs = Math.floor((startMs - phaseMs) / axisStepMs) * axisStepMs + phaseMs;
  const intervals = Math.ceil((endMs - startMs) / axisStepMs);
  const finestMs = Math.min(...used.map((group) => group.stepMs));
  const slots = (endMs - startMs) / finestMs;
  const readingCount = Math.max(...used.map((group) => group.labels.count));
  // A date misread puts a reading years away: no home's data are that sparse.
  if (intervals > MAX_SLOTS || slots > 5 * MAX_SLOTS || slots > 100_000 + 20 * readingCount) {
    const ends: number[] = [];
    for (const { group, slots: starts } of placedGroups)
      for (let i = 0; i < starts.length; i++)
        if (starts[i]! < startMs + axisStepMs || starts[i]! >= endMs - axisStepMs) ends.push(group.labels.line[i]!);
    findings.add(
      'span-too-long',
      'error',
      `the dates span ${((endMs - startMs) / (365.25 * 24 * HOUR_MS)).toFixed(0)} years and readings fill ${((100 * readingCount) / slots).toFixed(1)} % of them: some dates are misread or mistaken (each line given holds the earliest or the latest)`,
      { lines: ends, count: ends.length },
    );
    return undefined;
  }

  const parts = new Map<Channel, Float64Array[]>();
  const nets: Float64Array[] = [];
  const hasBoth =
    used.some(({ streams }) => streams.some(({ role }) => role === 'import')) &&
    used.some(({ streams }) => streams.some(({ role }) => role === 'export'));
  const estimated = new Uint8Array(intervals);
  const lineAt = new Int32Array(intervals);
  let anyEstimated = false;
  for (const { group, slots, alsoAt } of placedGroups) {
    const { line } = group.labels;
    for (let i = 0; i < slots.length; i++) {
      const slot = Math.floor((slots[i]! - startMs) / axisStepMs);
      if (slot >= 0 && slot < intervals) lineAt[slot] = line[i]!;
    }
    for (const stream of group.streams) {
      const size = Math.round((intervals * axisStepMs) / group.stepMs);
      let grid = placeStream(stream, group.stepMs, slots, alsoAt, startMs, size, options, findings);
      if (grid === undefined) return undefined;
      if (stream.cumulative) grid = difference(grid, stream, findings);
      const coarse = coarsen(grid, Math.round(axisStepMs / group.stepMs), findings);
      if (stream.role === 'net' && hasBoth) nets.push(coarse);
      else
        for (const [channel, values] of splitRole(stream, coarse, options, findings, readings)) {
          const list = parts.get(channel);
          if (list === undefined) parts.set(channel, [values]);
          else list.push(values);
        }
      if (stream.estimated !== undefined)
        for (let i = 0; i < slots.length; i++)
          if (stream.estimated[i] === 1) {
            const slot = Math.floor((slots[i]! - startMs) / axisStepMs);
            if (slot >= 0 && slot < intervals) {
              estimated[slot] = ESTIMATED.bySource;
              anyEstimated = true;
            }
          }
    }
  }
  const channels = new Map<Channel, Float64Array>();
  for (const [channel, list] of parts) channels.set(channel, unite(list));
  if (nets.length > 0) checkNet(unite(nets), channels, options, findings);

  // Rows without any value at the ends are no data.
  let first = 0;
  let last = intervals;
  const empty = (i: number) => {
    for (const values of channels.values()) if (!Number.isNaN(values[i]!)) return false;
    return true;
  };
  while (first < last && empty(first)) first++;
  while (last > first && empty(last - 1)) last--;
  if (last === first) {
    findings.add('no-readings', 'error', 'every value is blank');
    return undefined;
  }
  reportGaps(channels, lineAt, first, last, findings);
  const axis = makeAxis({ startEpochMs: startMs + first * axisStepMs, stepMinutes, intervals: last - first, zone });
  const series: { -readonly [K in keyof IntervalSeries]: IntervalSeries[K] } = { axis };
  for (const channel of CHANNELS) {
    const values = channels.get(channel);
    if (values !== undefined) series[channelField(channel)] = values.slice(first, last);
  }
  if (anyEstimated) {
    series.estimated = estimated.slice(first, last);
    let count = 0;
    for (const flag of series.estimated) if (flag !== ESTIMATED.no) count++;
    findings.add(
      'estimated-by-source',
      'warning',
      `the file marks ${count} intervals (${((100 * count) / axis.intervals).toFixed(1)} %) as estimated`,
      { count },
    );
  }
  checkYear(series, units, options, findings);
  return {
    series,
    linesOf(wanted) {
      const most = new Map(wanted.map((i) => [i + first, { kwh: -1, line: 0 }]));
      for (const { group, slots } of placedGroups)
        for (let i = 0; i < slots.length; i++) {
          const known = most.get(Math.floor((slots[i]! - startMs) / axisStepMs));
          if (known === undefined) continue;
          let kwh = 0;
          for (const { values, cumulative } of group.streams)
            if (!cumulative) kwh = Math.max(kwh, Math.abs(values[i]!));
          if (kwh > known.kwh) {
            known.kwh = kwh;
            known.line = group.labels.line[i]!;
          }
        }
      return wanted.map((i) => most.get(i + first)!.line);
    },
  };
}

function mod(a: number, b: number): number {
  return ((a % b) + b) % b;
}

function describeStep(ms: number): string {
  if (ms % HOUR_MS === 0) return ms === HOUR_MS ? 'hour' : `${ms / HOUR_MS} hours`;
  return ms % MINUTE_MS === 0 ? `${ms / MINUTE_MS} minutes` : `${ms / 1000} seconds`;
}

/**
 * Streams by the labels that they share, each with its step. Readings far apart beside interval data of the same channel
 * are sums of days or months, and left out; or, where they are no larger than the others, single ones of the same step.
 */
function groupByLabels(streams: readonly Stream[], findings: FindingList): Group[] | undefined {
  const groups: Group[] = [];
  const failed: { labels: Labels; streams: Stream[]; why: FindingList }[] = [];
  for (const labels of new Set(streams.map((stream) => stream.labels))) {
    const own = streams.filter((stream) => stream.labels === labels);
    const why = new FindingList();
    const stepMs = findStep(labels, why);
    if (stepMs === undefined) failed.push({ labels, streams: own, why });
    else groups.push({ labels, stepMs, streams: own });
  }
  // A register that counts now and then shows the distance of its rows, not their length.
  for (const group of groups) {
    const peer = finerPeer(groups, group);
    if (peer !== undefined && isSparse(group.labels, group.stepMs) && noLarger(group.streams[0]!, peer.stream))
      group.stepMs = peer.stepMs;
  }
  for (const { labels, streams: own, why } of failed) {
    const peer = finerPeer(groups, { labels, stepMs: Number.POSITIVE_INFINITY, streams: own });
    if (peer === undefined || !(why.has('no-interval-data') || why.has('step-unclear'))) {
      findings.take(why);
      return undefined;
    }
    if (noLarger(own[0]!, peer.stream)) groups.push({ labels, stepMs: peer.stepMs, streams: own });
    else
      findings.add('two-resolutions', 'note', 'sums of days or months stand beside the interval data: left out', {
        lines: [labels.line[0]!],
        count: labels.count,
      });
  }
  return groups;
}

/** A stream of the same channel and meter with a shorter step. */
function finerPeer(
  groups: readonly Group[],
  { streams, stepMs }: Group,
): { stream: Stream; stepMs: number } | undefined {
  const [{ role, point }] = streams as [Stream];
  for (const group of groups) {
    if (group.stepMs >= stepMs) continue;
    const stream = group.streams.find((peer) => peer.role === role && peer.point === point);
    if (stream !== undefined) return { stream, stepMs: group.stepMs };
  }
  return undefined;
}

/** Whether less than half of a span has a reading. */
function isSparse(labels: Labels, stepMs: number): boolean {
  const [from, to] = spanOf(labels);
  return labels.durationMs === undefined && labels.count < (to - from) / stepMs / 2;
}

/** Whether the readings of one stream are on average no more than twice those of another. */
function noLarger(one: Stream, other: Stream): boolean {
  const mean = ({ values }: Stream) => {
    let sum = 0;
    let count = 0;
    for (const value of values)
      if (!Number.isNaN(value)) {
        sum += Math.abs(value);
        count++;
      }
    return count === 0 ? 0 : sum / count;
  };
  return !one.cumulative && one.unit === other.unit && mean(one) <= 2 * mean(other);
}

/** The step of a set of labels: the commonest distance of neighbours in time. */
function findStep(labels: Labels, findings: FindingList): number | undefined {
  const { count, labelMs, durationMs } = labels;
  if (labels.stepMs !== undefined) return labels.stepMs;
  let ordered: Float64Array = labelMs.subarray(0, count);
  let turns = 0;
  for (let i = 2; i < count; i++) {
    const a = ordered[i]! - ordered[i - 1]!;
    const b = ordered[i - 1]! - ordered[i - 2]!;
    if (a > 0 !== b > 0) turns++;
  }
  if (turns > 0) ordered = Float64Array.from(ordered).sort();
  const steps = new Map<number, number>();
  /** Distances that occur several times on end: gaps are scattered, another step is not. */
  const inRuns = new Map<number, number>();
  const endRun = () => {
    if (lastStep <= 0) return;
    steps.set(lastStep, (steps.get(lastStep) ?? 0) + lastCount);
    if (lastCount >= LONG_RUN) inRuns.set(lastStep, (inRuns.get(lastStep) ?? 0) + lastCount);
  };
  let lastStep = -1;
  let lastCount = 0;
  for (let i = 1; i < count; i++) {
    // Loggers drift by seconds: distances are told apart by the half minute, or by the second below two minutes.
    const exact = Math.abs(ordered[i]! - ordered[i - 1]!);
    const step = exact > 120_000 ? Math.round(exact / 30_000) * 30_000 : Math.round(exact / 1000) * 1000;
    if (step <= 0) continue;
    if (step === lastStep) {
      lastCount++;
      continue;
    }
    endRun();
    lastStep = step;
    lastCount = 1;
  }
  endRun();
  let best = 0;
  let most = 0;
  let total = 0;
  for (const [step, times] of steps) {
    total += times;
    if (times > most || (times === most && step < best)) {
      best = step;
      most = times;
    }
  }
  if (durationMs !== undefined) {
    const printed = new Map<number, number>();
    for (let i = 0; i < count; i++)
      if (durationMs[i]! > 0) printed.set(durationMs[i]!, (printed.get(durationMs[i]!) ?? 0) + 1);
    for (const [duration, times] of printed) if (times > count / 2 && (best === 0 || duration <= best)) best = duration;
  }
  if (best === 0) {
    findings.add('step-unclear', 'error', 'there are too few readings to tell how long an interval is');
    return undefined;
  }
  if (best > HOUR_MS) {
    findings.add(
      'no-interval-data',
      'error',
      `readings are ${best >= 24 * HOUR_MS ? `${Math.round(best / (24 * HOUR_MS))} days` : `${best / HOUR_MS} hours`} apart: this is no interval data (steps of 60 minutes or less)`,
    );
    return undefined;
  }
  for (const [step, times] of inRuns)
    if (step !== best && step <= HOUR_MS && times > 24 && times > total * 0.02 && durationMs === undefined) {
      const finer = Math.min(step, best);
      const coarser = Math.max(step, best);
      findings.add(
        'mixed-steps',
        'error',
        `the file holds steps of ${describeStep(finer)} and of ${describeStep(coarser)}: split it, or state one`,
        { line: lineOfOtherStep(labels, best, step) },
      );
      return undefined;
    }
  return best;
}

/**
 * Where two resolutions of one thing stand side by side, the finer one is read; the coarser where the finer
 * covers less than nine tenths of its time. Resolutions that follow each other are both read. Undefined, with an error
 * finding, where the two aren't the same energy.
 */
function chooseResolution(groups: readonly Group[], findings: FindingList): Group[] | undefined {
  const dropped = new Set<Stream>();
  for (const group of groups)
    for (const stream of group.streams)
      for (const other of groups) {
        if (other.stepMs >= group.stepMs) continue;
        for (const peer of other.streams) {
          if (peer.role !== stream.role || peer.point !== stream.point || areParts(peer, stream)) continue;
          const [from, to] = spanOf(stream.labels);
          const [peerFrom, peerTo] = spanOf(peer.labels);
          const overlap = Math.min(to, peerTo) - Math.max(from, peerFrom);
          if (overlap <= Math.min(to - from, peerTo - peerFrom) / 2) continue;
          const loser = overlap >= 0.9 * (to - from) ? stream : peer;
          if (dropped.has(loser)) continue;
          const within = [Math.max(from, peerFrom), Math.min(to, peerTo)] as const;
          if (!sameMean(stream, group.stepMs, peer, other.stepMs, within)) {
            askParts(stream.role, [peer, stream], findings);
            return undefined;
          }
          dropped.add(loser);
          findings.add(
            'two-resolutions',
            'note',
            `${stream.source} is there in steps of ${describeStep(other.stepMs)} and of ${describeStep(group.stepMs)}: ${loser === stream ? 'the finer was read' : 'the coarser was read, for the finer covers less of the time'}`,
            { key: stream.source },
          );
        }
      }
  return groups
    .map((group) => ({ ...group, streams: group.streams.filter((stream) => !dropped.has(stream)) }))
    .filter((group) => group.streams.length > 0);
}

/** Whether two streams have about the same mean power within a span, so that they can be the same energy. */
function sameMean(
  one: Stream,
  oneStepMs: number,
  other: Stream,
  otherStepMs: number,
  [from, to]: readonly [number, number],
): boolean {
  if (one.cumulative || other.cumulative) return true;
  const mean = ({ values, labels, unit }: Stream, stepMs: number, elseUnit: Unit | undefined) => {
    let sum = 0;
    let count = 0;
    for (let i = 0; i < labels.count; i++) {
      if (Number.isNaN(values[i]!) || labels.labelMs[i]! < from || labels.labelMs[i]! > to) continue;
      sum += Math.abs(values[i]!);
      count++;
    }
    return ((sum / count) * kwhPer(unit ?? elseUnit ?? 'kWh', stepMs)) / stepMs;
  };
  const a = mean(one, oneStepMs, other.unit);
  const b = mean(other, otherStepMs, one.unit);
  // Without a unit it may be power, whose mean doesn't grow with the step.
  const factor = one.unit === undefined && other.unit === undefined ? oneStepMs / otherStepMs : 1;
  const near = (x: number, y: number) => Math.abs(x - y) <= 0.1 * Math.max(x, y);
  return !(a > 0 || b > 0) || near(a, b) || near(a * factor, b);
}

function spanOf(labels: Labels): [number, number] {
  let from = Number.POSITIVE_INFINITY;
  let to = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < labels.count; i++) {
    from = Math.min(from, labels.labelMs[i]!);
    to = Math.max(to, labels.labelMs[i]!);
  }
  return [from, to];
}

/**
 * Whether values never fall from one time to the next, as a meter's running total does, be its steps ever so rare: what
 * a home draws falls again within a day. Newest first, it never rises; out of order, the order of time counts.
 */
function looksCumulative({ values, labels }: Stream): boolean {
  const { labelMs, count } = labels;
  let inOrder = true;
  for (let i = 1; i < count && inOrder; i++) inOrder = labelMs[i]! >= labelMs[i - 1]!;
  if (risesOnly(values, labelMs, count)) return true;
  if (inOrder) return false;
  const order = Array.from({ length: count }, (_, i) => i).sort((a, b) => labelMs[a]! - labelMs[b]! || a - b);
  return risesOnly(
    Float64Array.from(order, (i) => values[i]!),
    Float64Array.from(order, (i) => labelMs[i]!),
    count,
  );
}

/** Whether values rise and all but never fall, or the other way round. */
function risesOnly(values: Float64Array, labelMs: Float64Array, count: number): boolean {
  let up = 0;
  let down = 0;
  let pairs = 0;
  let first = -1;
  let last = -1;
  for (let i = 0; i < count; i++) {
    const value = values[i]!;
    if (Number.isNaN(value)) continue;
    if (first < 0) first = i;
    else {
      pairs++;
      if (value > values[last]!) up++;
      else if (value < values[last]!) down++;
    }
    last = i;
  }
  if (pairs < 24) return false;
  const steps = Math.max(up, down);
  const back = Math.min(up, down);
  const hours = Math.abs(labelMs[last]! - labelMs[first]!) / HOUR_MS;
  return back <= pairs / 500 && (steps >= pairs * 0.3 || (hours >= 24 && steps >= 3 && steps > 50 * back));
}

/** How far apart an hour that is there twice and one that is absent may lie, ms. */
const REPEAT_REACH_MS = 24 * HOUR_MS;

/**
 * An hour of UTC that occurs twice with different values, with an absent hour on the same day: clock changes
 * were put through at the wrong moment, and the readings between the two lie an hour off. They are moved back,
 * so that every reading has an interval of its own and no energy is lost. Durations that the same mistake
 * made 0 or doubled are then as they should be.
 */
function moveRepeatedHour(group: Group, findings: FindingList): void {
  const { labels, streams, stepMs } = group;
  const { labelMs, durationMs } = labels;
  const perHour = HOUR_MS / stepMs;
  const seen = new Map<number, number>();
  const again: number[] = [];
  for (let i = 0; i < labels.count; i++) {
    const known = seen.get(labelMs[i]!);
    if (known === undefined) seen.set(labelMs[i]!, i);
    else if (
      streams.some(
        ({ values }) => values[i]! !== values[known]! && !Number.isNaN(values[i]!) && !Number.isNaN(values[known]!),
      )
    )
      again.push(i);
    if (again.length > 400) return;
  }
  if (again.length >= perHour && Number.isInteger(perHour)) {
    again.sort((a, b) => labelMs[a]! - labelMs[b]! || a - b);
    for (let j = 0; j + perHour <= again.length; j += perHour) {
      const run = again.slice(j, j + perHour);
      const from = labelMs[run[0]!]!;
      if (run.some((i, k) => labelMs[i]! !== from + k * stepMs)) continue;
      let free = 0;
      for (let distance = HOUR_MS; distance <= REPEAT_REACH_MS && free === 0; distance += stepMs)
        free = [distance, -distance].find((shift) => run.every((_, k) => !seen.has(from + k * stepMs + shift))) ?? 0;
      if (free === 0) continue;
      const moved: number[] = [];
      const second = new Set(run);
      for (let i = 0; i < labels.count; i++) {
        const label = labelMs[i]!;
        const inRun = label >= from && label < from + HOUR_MS;
        if (
          free > 0
            ? (inRun && second.has(i)) || (label >= from + HOUR_MS && label < from + free)
            : (inRun && !second.has(i)) || (label >= from + free + HOUR_MS && label < from)
        )
          moved.push(i);
      }
      for (const i of moved) labelMs[i] = labelMs[i]! + (free > 0 ? HOUR_MS : -HOUR_MS);
      findings.add(
        'utc-hour-repeated',
        'warning',
        'an hour of UTC occurs twice with different values and another of that day is absent: the readings between were moved by an hour, so that each has an interval of its own',
        { lines: [...moved].sort((x, y) => x - y).map((i) => labels.line[i]!), count: moved.length },
      );
    }
    if (findings.has('utc-hour-repeated')) {
      seen.clear();
      for (let i = 0; i < labels.count; i++) seen.set(labelMs[i]!, (seen.get(labelMs[i]!) ?? 0) + 1);
      for (let i = 0; durationMs !== undefined && i < labels.count; i++)
        if (
          seen.get(labelMs[i]!) === 1 &&
          (durationMs[i] === 0 || (durationMs[i]! > 1.5 * stepMs && seen.has(labelMs[i]! + stepMs)))
        ) {
          findings.add(
            'duration-odd',
            'note',
            'readings whose duration contradicts their neighbours were taken as one interval long',
            { line: labels.line[i]! },
          );
          durationMs[i] = stepMs;
        }
    }
  }
}

/** A running total as energy: each reading less the one before. Rollovers are counted through, exchanges are gaps. */
function difference(totals: Float64Array, stream: Stream, findings: FindingList): Float64Array {
  const n = totals.length;
  const energy = new Float64Array(n).fill(Number.NaN);
  // A reading labelled with its interval's start is the total at that instant.
  const shift = stream.labels.labelEnd.at === 'start' ? 0 : 1;
  let most = 0;
  for (const total of totals) if (total > most) most = total;
  let typical = 0;
  let count = 0;
  for (let i = 1; i < n; i++) {
    const step = totals[i]! - totals[i - 1]!;
    if (step >= 0) {
      typical = Math.max(typical, step);
      count++;
    }
  }
  if (count === 0) return energy;
  const dial = 10 ** Math.ceil(Math.log10(most * 1.0000001));
  let lastAt = -1;
  for (let i = 0; i < n; i++) {
    if (Number.isNaN(totals[i]!)) continue;
    if (lastAt >= 0) {
      let step = totals[i]! - totals[lastAt]!;
      if (step < 0 && step + dial <= Math.max(4 * typical * (i - lastAt), 1e-9)) {
        step += dial;
        findings.add('register-rollover', 'note', 'a register rolled over: counted through', {});
      }
      if (step < 0)
        findings.add(
          'register-exchanged',
          'warning',
          'a register falls: the meter was exchanged or reset; the interval became a gap',
          {},
        );
      else if (i === lastAt + 1) energy[lastAt + shift] = step;
      else
        findings.add(
          'register-gap',
          'warning',
          'readings of a register are missing: the energy between its neighbours is known, its course is not',
          { count: i - lastAt, energyKwh: step },
        );
    }
    lastAt = i;
  }
  return energy;
}

/** A net column beside import and export repeats them: it is compared, not added. */
function checkNet(
  net: Float64Array,
  channels: ReadonlyMap<Channel, Float64Array>,
  options: ParseOptions,
  findings: FindingList,
): void {
  const bought = channels.get('import');
  const sold = channels.get('export');
  if (bought === undefined || sold === undefined) return;
  const sign = options.sign === 'export-positive' ? -1 : 1;
  let differing = 0;
  let energyKwh = 0;
  for (let i = 0; i < net.length; i++) {
    const off = Math.abs(net[i]! * sign - (bought[i]! - sold[i]!));
    if (off > 0.002 + 0.01 * Math.abs(net[i]!)) {
      differing++;
      energyKwh += off;
    }
  }
  if (differing > net.length / 50)
    findings.add('net-differs', 'warning', 'the net column is not import less export: it was left out', {
      count: differing,
      energyKwh,
    });
  else findings.add('net-redundant', 'note', 'the net column is import less export: it was left out');
}

/** Rounds starts to the grid that most of them lie on; drops, with a finding, what lies elsewhere. */
function snapToGrid(starts: Float64Array, group: Group, findings: FindingList): void {
  const { stepMs, labels } = group;
  const firstAt = starts.findIndex((start) => !Number.isNaN(start));
  const first = mod(starts[firstAt] ?? 0, stepMs);
  let alike = firstAt >= 0 && (stepMs < MINUTE_MS || first % MINUTE_MS === 0);
  const base = (starts[firstAt] ?? 0) - first;
  for (let i = 0; i < starts.length && alike; i++) {
    const start = starts[i]!;
    if (!Number.isNaN(start) && (start - base - first) % stepMs !== 0) alike = false;
  }
  if (alike) return;
  const phases = new Map<number, number>();
  for (let i = 0; i < starts.length; i++) {
    const start = starts[i]!;
    if (Number.isNaN(start)) continue;
    const phase = mod(start, stepMs);
    phases.set(phase, (phases.get(phase) ?? 0) + 1);
  }
  let phaseMs = 0;
  let most = 0;
  for (const [phase, times] of phases)
    if (times > most) {
      most = times;
      phaseMs = phase;
    }
  const whole = stepMs >= MINUTE_MS ? Math.round(phaseMs / MINUTE_MS) * MINUTE_MS : phaseMs;
  let drifted = 0;
  for (let i = 0; i < starts.length; i++) {
    const start = starts[i]!;
    if (Number.isNaN(start)) continue;
    const slot = Math.round((start - whole) / stepMs) * stepMs + whole;
    const off = Math.abs(start - slot);
    if (off === 0) continue;
    if (off <= Math.max(stepMs / 10, Math.min(30_000, stepMs / 4))) {
      drifted++;
      starts[i] = slot;
    } else {
      starts[i] = Number.NaN;
      findings.add(
        'off-grid',
        'warning',
        `readings that don't lie on the ${describeStep(stepMs)} grid of the others were left out`,
        { line: labels.line[i]! },
      );
    }
  }
  if (drifted > 0)
    findings.add('clock-drift', 'note', 'labels a few seconds off the grid were moved onto it', { count: drifted });
}

/** Whether the zone's clock goes back within two hours of an instant. */
function repeatsAnHour(zone: string, atMs: number): boolean {
  return offsetMinutesAt(zone, atMs - 2 * HOUR_MS) > offsetMinutesAt(zone, atMs + 2 * HOUR_MS);
}

/** One stream on a grid of its own step, in kWh; duplicates compared. */
function placeStream(
  stream: Stream,
  stepMs: number,
  slots: Float64Array,
  alsoAt: ReadonlyMap<number, number>,
  startMs: number,
  size: number,
  { repeats, zone }: ParseOptions & { zone: string },
  findings: FindingList,
): Float64Array | undefined {
  const grid = new Float64Array(size).fill(Number.NaN);
  const rowAt = new Int32Array(size);
  const factor = kwhPer(stream.unit!, stepMs);
  const { values } = stream;
  const { line } = stream.labels;
  const durationMs = stream.labels.clock === 'utc' ? stream.labels.durationMs : undefined;
  let duplicates = 0;
  let differing = 0;
  const firstLines: number[] = [];
  const clash = new Set<number>();
  const put = (i: number, start: number, share: number) => {
    const slot = Math.round((start - startMs) / stepMs);
    if (slot < 0 || slot >= size) return;
    const value = stream.values[i]! * factor * share;
    if (rowAt[slot] === 0) {
      rowAt[slot] = i + 1;
      grid[slot] = value;
      return;
    }
    const known = grid[slot]!;
    if (Number.isNaN(value) || clash.has(slot)) return;
    if (Number.isNaN(known)) grid[slot] = value;
    else if (repeats !== undefined) {
      if (repeats !== 'first') grid[slot] = repeats === 'add' ? known + value : value;
      if (repeats !== 'add') duplicates++;
    } else if (Math.abs(known - value) <= 1e-9 * Math.max(1, Math.abs(known))) duplicates++;
    else if (
      durationMs !== undefined &&
      (durationMs[i] === 0 || durationMs[rowAt[slot]! - 1] === 0) &&
      repeatsAnHour(zone, start)
    ) {
      // Two readings share the start of a repeated hour and one claims no time at all: both are energy of that hour.
      grid[slot] = known + value;
      findings.add(
        'reading-without-duration',
        'warning',
        'readings of no duration share their start with another: added to it, so that no energy is lost',
        { line: line[i]!, energyKwh: durationMs[i] === 0 ? value : known },
      );
    } else {
      differing++;
      clash.add(slot);
      if (firstLines.length < 20) firstLines.push(line[i]!);
    }
  };
  for (let i = 0; i < slots.length; i++) {
    const start = slots[i]!;
    if (Number.isNaN(start)) continue;
    if (durationMs === undefined && alsoAt.size === 0) {
      const slot = Math.round((start - startMs) / stepMs);
      if (slot >= 0 && slot < size && rowAt[slot] === 0) {
        rowAt[slot] = i + 1;
        grid[slot] = values[i]! * factor;
        continue;
      }
    }
    const second = alsoAt.get(i);
    if (durationMs !== undefined && durationMs[i]! > 1.5 * stepMs) {
      const steps = Math.round(durationMs[i]! / stepMs);
      const size = Math.abs(stream.values[i]!);
      const around = (Math.abs(stream.values[i - 1] ?? Number.NaN) + Math.abs(stream.values[i + 1] ?? Number.NaN)) / 2;
      const whole = size >= (around * (steps + 1)) / 2;
      if (whole) for (let k = 0; k < steps; k++) put(i, start + k * stepMs, 1 / steps);
      else put(i, start, 1);
      findings.add(
        'reading-too-long',
        'warning',
        whole
          ? 'readings last several intervals and hold the energy of them all: spread evenly'
          : 'readings claim to last several intervals but hold the energy of one: put into the first, the rest are gaps',
        { line: line[i]!, energyKwh: size * factor, key: String(whole) },
      );
      continue;
    }
    put(i, start, second === undefined ? 1 : 0.5);
    if (second !== undefined) put(i, second, 0.5);
  }
  if (duplicates > 0)
    findings.add('duplicate', 'note', 'readings that repeat another one exactly were left out', { count: duplicates });
  if (differing > 0) {
    let energyKwh = 0;
    for (const slot of clash) {
      energyKwh += Math.abs(grid[slot]!);
      grid[slot] = Number.NaN;
    }
    if (clash.size > Math.max(2, size / 200)) {
      findings.add(
        'duplicate-differs',
        'error',
        `${clash.size} intervals have two readings that differ, and nothing tells them apart: name the column that does with \`columns.type\` and say with \`rows\` what its texts mean, or state \`repeats\` (first, last, add)`,
        { lines: firstLines, count: clash.size, energyKwh },
      );
      return undefined;
    }
    findings.add('duplicate-differs', 'warning', 'intervals with two readings that differ became gaps', {
      lines: firstLines,
      count: clash.size,
      energyKwh,
    });
  }
  return grid;
}

/** Intervals in which a channel has no reading; each line given is the last one before a gap. */
function reportGaps(
  channels: ReadonlyMap<Channel, Float64Array>,
  lineAt: Int32Array,
  first: number,
  last: number,
  findings: FindingList,
): void {
  const lacking = new Set<Channel>();
  const lines: number[] = [];
  let count = 0;
  let inGap = false;
  let line = 0;
  const names = [...channels.keys()];
  const series = [...channels.values()];
  for (let i = first; i < last; i++) {
    let gap = false;
    for (let c = 0; c < series.length; c++)
      if (Number.isNaN(series[c]![i]!)) {
        gap = true;
        lacking.add(names[c]!);
      }
    if (gap) {
      count++;
      if (!inGap) lines.push(line);
    }
    inGap = gap;
    if (lineAt[i]! > 0) line = lineAt[i]!;
  }
  if (count > 0)
    findings.add(
      'gap',
      'warning',
      `intervals have no reading of ${[...lacking].join(' or ')} (each line given is the last one before a gap)`,
      { lines, count },
    );
}

/** Sums `by` slots into one; a sum with a gap in it is a gap, and the finding says what energy that leaves out. */
function coarsen(grid: Float64Array, by: number, findings: FindingList): Float64Array {
  if (by <= 1) return grid;
  const coarse = new Float64Array(Math.floor(grid.length / by));
  for (let i = 0; i < coarse.length; i++) {
    let sum = 0;
    let missing = 0;
    let known = 0;
    for (let j = i * by; j < (i + 1) * by; j++) {
      const value = grid[j]!;
      sum += value;
      if (Number.isNaN(value)) missing++;
      else known += value;
    }
    coarse[i] = sum;
    if (missing > 0 && missing < by)
      findings.add(
        'partly-missing',
        'warning',
        'intervals were left as gaps because some of their shorter readings are missing',
        { energyKwh: Math.abs(known) },
      );
  }
  return coarse;
}

/** A stream's values as channels that are never negative. */
function splitRole(
  stream: Stream,
  values: Float64Array,
  options: ParseOptions,
  findings: FindingList,
  readings: Readings,
): [Channel, Float64Array][] {
  let negative = 0;
  let positive = 0;
  let negativeKwh = 0;
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!;
    if (value < 0) {
      negative++;
      negativeKwh -= value;
    } else if (value > 0) positive++;
  }
  const { role } = stream;
  const hasExport = readings.streams.some((other) => other.role === 'export');
  const asNet = role === 'net' || (role === 'import' && negative > 0 && !hasExport);
  if (asNet) {
    if (role !== 'net')
      findings.add(
        'signed-net',
        'warning',
        `${stream.source} has negative values and there is no export column: read as import less export`,
        { count: negative, energyKwh: negativeKwh },
      );
    const sign = options.sign === 'export-positive' ? -1 : 1;
    const bought = new Float64Array(values.length);
    const sold = new Float64Array(values.length);
    for (let i = 0; i < values.length; i++) {
      const value = values[i]! * sign;
      bought[i] = value > 0 ? value : value <= 0 ? 0 : Number.NaN;
      sold[i] = value < 0 ? -value : value >= 0 ? 0 : Number.NaN;
    }
    return [
      ['import', bought],
      ['export', sold],
    ];
  }
  if (negative > 0 && (role === 'export' || role === 'solar') && positive <= negative / 20) {
    for (let i = 0; i < values.length; i++) values[i] = Math.abs(values[i]!);
    if (role === 'export')
      findings.add(
        'export-negative',
        'note',
        `${stream.source} prints export as negative values: their sign was dropped`,
        { count: negative },
      );
    else
      findings.add(
        'solar-negative',
        'warning',
        `${stream.source} prints solar as negative values: their sign was dropped; check the current transformer’s direction`,
        { count: negative },
      );
  } else if (negative > 0) {
    // Inverters draw a few watts at night: that is no reversal.
    const small = role === 'solar' && negativeKwh < 0.02 * sumOf(values, negativeKwh);
    for (let i = 0; i < values.length; i++) if (values[i]! < 0) values[i] = small ? 0 : Number.NaN;
    if (small)
      findings.add('solar-standby', 'note', `${stream.source} is slightly negative at night: taken as zero`, {
        count: negative,
        energyKwh: negativeKwh,
      });
    else
      findings.add(
        'negative-value',
        'warning',
        `${stream.source} has negative values, which ${role} cannot: they became gaps`,
        {
          count: negative,
          energyKwh: negativeKwh,
          key: stream.source,
          lines: linesBelowZero(stream),
          cell: firstBelowZero(stream),
        },
      );
  }
  return [[role as Channel, values]];
}

/** Line of the first reading that lies `otherMs` after the one before it; 0 where none does. */
function lineOfOtherStep(labels: Labels, stepMs: number, otherMs: number): number {
  for (let i = 1; i < labels.count; i++) {
    const distance = Math.abs(labels.labelMs[i]! - labels.labelMs[i - 1]!);
    if (Math.abs(distance - otherMs) < 15_000 && Math.abs(distance - stepMs) >= 15_000) return labels.line[i]!;
  }
  return 0;
}

function linesBelowZero(stream: Stream): number[] {
  const lines: number[] = [];
  for (let i = 0; i < stream.values.length && lines.length < 20; i++)
    if (stream.values[i]! < 0) lines.push(stream.labels.line[i]!);
  return lines;
}

function firstBelowZero(stream: Stream): string | undefined {
  const value = stream.values.find((each) => each < 0);
  return value === undefined ? undefined : quoteCell(String(value), 'number');
}

function sumOf(values: Float64Array, more: number): number {
  let sum = more;
  for (const value of values) if (value > 0) sum += value;
  return sum;
}

/** Registers of one channel: added where both count all the time, joined where each fills what the other leaves blank. */
function unite(list: Float64Array[]): Float64Array {
  const first = list[0]!;
  if (list.length === 1) return first;
  const sum = Float64Array.from(first);
  for (const other of list.slice(1)) {
    let both = 0;
    let either = 0;
    for (let i = 0; i < sum.length; i++) {
      const a = !Number.isNaN(sum[i]!);
      const b = !Number.isNaN(other[i]!);
      if (a && b) both++;
      if (a || b) either++;
    }
    const parallel = both > either / 2;
    for (let i = 0; i < sum.length; i++) {
      const a = sum[i]!;
      const b = other[i]!;
      sum[i] = parallel ? a + b : Number.isNaN(a) ? b : Number.isNaN(b) ? a : a + b;
    }
  }
  return sum;
}
