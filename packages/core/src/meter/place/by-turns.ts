import type { Labels, Readings, Stream } from '../readings.ts';
import { spanOf } from './label-span.ts';

/**
 * Rows of several kinds that are all of one channel and never of one time are one column of readings: its kind changes with
 * the hour, as a tariff's windows do. Read apart, each would have a clock of its own: the hours that a clock skips or repeats
 * stand in one of them alone.
 */
export function joinTurns(readings: Readings): void {
  const joined: Stream[] = [];
  for (const stream of readings.streams) {
    const at = joined.findIndex((other) => takeTurns(other, stream));
    if (at < 0) joined.push(stream);
    else joined[at] = join(joined[at]!, stream);
  }
  readings.streams = joined;
}

function takeTurns(one: Stream, other: Stream): boolean {
  const areRows = [one, other].every(({ kind, cumulative }) => kind !== undefined && !cumulative);
  const areAlike =
    one.role === other.role &&
    one.unit === other.unit &&
    one.point === other.point &&
    one.column === other.column &&
    one.labels.clock === other.labels.clock &&
    one.labels.labelEnd.at === other.labels.labelEnd.at;
  if (!areRows || !areAlike || one.labels === other.labels) return false;
  // Two counters are never one.
  if (onlyRises(one) || onlyRises(other)) return false;
  // One after the other they may differ in more than their kind.
  const [from, to] = spanOf(one.labels);
  const [otherFrom, otherTo] = spanOf(other.labels);
  if (Math.min(to, otherTo) <= Math.max(from, otherFrom)) return false;
  const seen = new Set(one.labels.labelMs.subarray(0, one.labels.count));
  return other.labels.labelMs.subarray(0, other.labels.count).every((label) => !seen.has(label));
}

function onlyRises({ values, labels: { count } }: Stream): boolean {
  let before = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < count; i++) {
    if (values[i]! < before) return false;
    if (!Number.isNaN(values[i]!)) before = values[i]!;
  }
  return true;
}

/** Both in the order of the file. */
function join(one: Stream, other: Stream): Stream {
  const order = [one, other]
    .flatMap((stream) => Array.from({ length: stream.labels.count }, (_, i) => ({ stream, i })))
    .sort((a, b) => a.stream.labels.line[a.i]! - b.stream.labels.line[b.i]!);
  const numbers = (of: (stream: Stream, i: number) => number | undefined) =>
    Float64Array.from(order, ({ stream, i }) => of(stream, i) ?? 0);
  const [hasMarks, hasDurations, hasEstimates] = [
    [one, other].some(({ labels }) => labels.mark !== undefined),
    [one, other].every(({ labels }) => labels.durationMs !== undefined),
    [one, other].some(({ estimated }) => estimated !== undefined),
  ];
  const offsets = [one, other].flatMap(({ labels }) => labels.offsetMinutes ?? []);
  const { mark: _, durationMs: __, offsetMinutes: ___, ...kept } = one.labels;
  const labels: Labels = {
    ...kept,
    count: order.length,
    labelMs: numbers(({ labels }, i) => labels.labelMs[i]),
    line: Int32Array.from(order, ({ stream, i }) => stream.labels.line[i]!),
    ...(hasMarks ? { mark: Uint8Array.from(numbers(({ labels }, i) => labels.mark?.[i])) } : {}),
    ...(hasDurations ? { durationMs: numbers(({ labels }, i) => labels.durationMs![i]) } : {}),
    ...(offsets.length > 0 ? { offsetMinutes: [...new Set(offsets)].sort((a, b) => a - b) } : {}),
  };
  // Of several registers it has the name of none.
  const { estimated: ____, register: _____, ...stream } = one;
  return {
    ...stream,
    kinds: [one, other].flatMap(({ kind, kinds }) => kinds ?? [kind!]),
    labels,
    values: numbers(({ values }, i) => values[i]),
    ...(hasEstimates ? { estimated: Uint8Array.from(numbers(({ estimated }, i) => estimated?.[i])) } : {}),
  };
}
