import { HOUR_MS, MINUTE_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import type { ParseOptions } from '../options.ts';
import type { Labels, Stream } from '../readings.ts';
import { type DayRun, runOf } from './label-run.ts';

/** So many readings on end in another step are a step of their own: gaps are scattered. */
const LONG_RUN = 24;
/** A meter's step is changed now and then, not every other day. */
const MOST_CHANGES = 20;

/** A run of readings in one step, in file order. */
interface Run {
  readonly from: number;
  to: number;
  readonly stepMs: number;
}

/**
 * Parts the streams of a file whose step changes from some row on, as load curves do, into one for each run: resolutions that
 * follow each other are read one after the other. Others are handed back as they are.
 */
export function partBySteps(
  streams: readonly Stream[],
  options: ParseOptions & { readonly zone: string },
  findings: FindingList,
): readonly Stream[] {
  const parts = new Map<Labels, readonly Stream[]>();
  for (const labels of new Set(streams.map((stream) => stream.labels))) {
    if (runsOf(labels) === undefined) continue;
    // Asked of the whole file: a part of it begins and ends at any hour.
    const run = runOfAll(labels, options);
    if (run?.at === 'end') labels.labelEnd = { at: 'end', why: run.isOfHome ? 'home-day-run' : 'day-run' };
    const runs = runsOf(labels);
    if (runs === undefined) continue;
    const own = streams.filter((stream) => stream.labels === labels);
    parts.set(
      labels,
      runs.flatMap((run) => {
        const its = labelsOf(labels, run);
        return own.map((stream) => streamOf(stream, its, run));
      }),
    );
    const steps = runs.map(({ stepMs }) => stepMs / MINUTE_MS);
    findings.add(
      'steps-change',
      'note',
      { finerMinutes: Math.min(...steps), coarserMinutes: Math.max(...steps), changes: runs.length - 1 },
      { lines: runs.slice(1, 20).map(({ from }) => labels.line[from]!), count: runs.length - 1 },
    );
  }
  return streams.flatMap((stream) => {
    const told = parts.get(stream.labels);
    if (told === undefined) return [stream];
    parts.set(stream.labels, []);
    return told;
  });
}

/** How labels of which nothing else is known run, from the first, in whose step they begin, to the last. */
function runOfAll(labels: Labels, { zone, clock }: ParseOptions & { readonly zone: string }): DayRun | undefined {
  const { labelEnd, labelMs, durationMs, count } = labels;
  if (labelEnd.why !== 'assumed' || durationMs !== undefined) return undefined;
  const forward = labelMs[count - 1]! > labelMs[0]!;
  const stepMs = forward ? labelMs[1]! - labelMs[0]! : labelMs[count - 2]! - labelMs[count - 1]!;
  return stepMs > 0 && stepMs < HOUR_MS ? runOf(labels, stepMs, zone, clock) : undefined;
}

/** Runs of one step each; undefined where there is one step, or no order in them. */
function runsOf(labels: Labels): readonly Run[] | undefined {
  const { count, labelMs, durationMs } = labels;
  if (labels.stepMs !== undefined || count < 2 * LONG_RUN) return undefined;
  const forward = labelMs[count - 1]! > labelMs[0]!;
  const stepOf = (i: number): number => {
    if (durationMs !== undefined && durationMs[i]! > 0) return durationMs[i]!;
    // A label of a start is followed, one of an end preceded, by what its interval lasts.
    const towards = (labels.labelEnd.at === 'end') === forward ? -1 : 1;
    const other = i + towards < 0 || i + towards >= count ? i - towards : i + towards;
    return Math.abs(labelMs[other]! - labelMs[i]!);
  };
  const runs: Run[] = [];
  let from = 0;
  for (let i = 1; i <= count; i++) {
    const step = stepOf(from);
    if (i < count && stepOf(i) === step) continue;
    if (i - from >= LONG_RUN && step > 0 && step <= HOUR_MS && step % (5 * MINUTE_MS) === 0) {
      const last = runs.at(-1);
      if (last?.stepMs === step) last.to = i;
      else {
        // What lies between two runs is of the former: a gap, or a row out of place.
        if (last !== undefined) last.to = from;
        runs.push({ from: last === undefined ? 0 : from, to: i, stepMs: step });
      }
    }
    from = i;
  }
  if (runs.length < 2 || runs.length > MOST_CHANGES) return undefined;
  runs.at(-1)!.to = count;
  const longest = Math.max(...runs.map(({ stepMs }) => stepMs));
  // Steps that don't fit into each other, or runs that overlap in time, are no changes of one meter's step.
  if (runs.some(({ stepMs }) => longest % stepMs !== 0)) return undefined;
  for (let k = 1; k < runs.length; k++) {
    const before = labelMs[runs[k]!.from - 1]!;
    const after = labelMs[runs[k]!.from]!;
    if (after > before !== forward) return undefined;
  }
  return runs;
}

function labelsOf(labels: Labels, { from, to, stepMs }: Run): Labels {
  const { durationMs, mark } = labels;
  return {
    ...labels,
    count: to - from,
    labelMs: labels.labelMs.slice(from, to),
    line: labels.line.slice(from, to),
    stepMs,
    ...(durationMs === undefined ? {} : { durationMs: durationMs.slice(from, to) }),
    ...(mark === undefined ? {} : { mark: mark.slice(from, to) }),
  };
}

function streamOf(stream: Stream, labels: Labels, { from, to }: Run): Stream {
  const { estimated } = stream;
  return {
    ...stream,
    labels,
    values: stream.values.slice(from, to),
    ...(estimated === undefined ? {} : { estimated: estimated.slice(from, to) }),
  };
}
