import { HOUR_MS, MINUTE_MS } from '../durations.ts';
import { FindingList } from '../findings.ts';
import { kwhPer, meanSize } from '../kwh.ts';
import type { ParseOptions, Unit } from '../options.ts';
import type { Group, Labels, Stream } from '../readings.ts';
import { partBySteps } from './changing-steps.ts';
import { spanOf } from './label-span.ts';
import { areParts, askParts } from './parts.ts';

/** So many equal distances one after the other are a step of their own: gaps are scattered. */
const LONG_RUN = 8;

/**
 * Streams by the labels that they share, each with its step. Readings far apart, beside interval data of the same channel,
 * are sums of days or months where they are larger, and left out; else readings of the same step with most of them missing.
 */
export function groupByLabels(
  all: readonly Stream[],
  options: ParseOptions & { readonly zone: string },
  findings: FindingList,
): Group[] | undefined {
  const streams = partBySteps(all, options, findings);
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
      findings.add(
        'two-resolutions',
        'note',
        { beside: 'days-or-months' },
        { lines: [labels.line[0]!], count: labels.count },
      );
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
  return !one.cumulative && one.unit === other.unit && meanSize(one.values) <= 2 * meanSize(other.values);
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
    findings.add('step-unclear', 'error', {});
    return undefined;
  }
  if (best > HOUR_MS) {
    findings.add('no-interval-data', 'error', { why: 'far-apart', stepHours: best / HOUR_MS });
    return undefined;
  }
  for (const [step, times] of inRuns)
    if (step !== best && step <= HOUR_MS && times > 24 && times > total * 0.02 && durationMs === undefined) {
      findings.add(
        'mixed-steps',
        'error',
        { finerMinutes: Math.min(step, best) / MINUTE_MS, coarserMinutes: Math.max(step, best) / MINUTE_MS },
        { line: lineOfOtherStep(labels, best, step) },
      );
      return undefined;
    }
  return best;
}

/** Line of the first reading that lies `otherMs` after the one before it; 0 where none does. */
function lineOfOtherStep(labels: Labels, stepMs: number, otherMs: number): number {
  for (let i = 1; i < labels.count; i++) {
    const distance = Math.abs(labels.labelMs[i]! - labels.labelMs[i - 1]!);
    if (Math.abs(distance - otherMs) < 15_000 && Math.abs(distance - stepMs) >= 15_000) return labels.line[i]!;
  }
  return 0;
}

/**
 * Where two resolutions of one thing stand side by side, the finer one is read; the coarser where the finer
 * covers less than nine tenths of its time. Resolutions that follow each other are both read. Undefined, with an error
 * finding, where the two aren't the same energy.
 */
export function chooseResolution(groups: readonly Group[], findings: FindingList): Group[] | undefined {
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
            askParts('same-times', stream.role, [peer, stream], findings);
            return undefined;
          }
          dropped.add(loser);
          findings.add(
            'two-resolutions',
            'note',
            {
              beside: 'finer-step',
              stream: stream.source,
              finerMinutes: other.stepMs / MINUTE_MS,
              coarserMinutes: group.stepMs / MINUTE_MS,
              read: loser === stream ? 'finer' : 'coarser',
            },
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
