import type { FindingList } from '../findings.ts';
import { kwhPer } from '../kwh.ts';
import type { ParseOptions } from '../options.ts';
import type { Group, Role, Stream } from '../readings.ts';
import { askParts, byPoint, noteAlternative } from './parts.ts';
import { noteRepeats } from './repeats.ts';
import { nameOf, toldStream } from './told-stream.ts';

/** A net is the one less the other where it is so in all but a twentieth of the intervals in which anything flows. */
const UNLIKE_SHARE = 0.05;

/** Rounding of three readings to a few Wh, kWh, and a hundredth of the largest. */
const ROUNDING_KWH = 0.002;
const ROUNDING_SHARE = 0.01;

/**
 * Leaves a net out where it stands beside what it is made of (import − export, use − generation), told by its values, and
 * where it holds but one of the two once more. It would be added to import and export else. Import and export together
 * are compared with it later, when all are on one axis.
 *
 * @returns false, with an error finding, where a net stands beside import or export alone and isn't known to repeat it
 */
export function settleNets(groups: readonly Group[], options: ParseOptions, findings: FindingList): boolean {
  const stepOf = new Map<Stream, number>();
  for (const { streams, stepMs } of groups) for (const stream of streams) stepOf.set(stream, stepMs);
  const left = new Set<Stream>();
  let clear = true;
  for (const point of byPoint([...stepOf.keys()])) {
    const first = (role: Role) => point.find((stream) => stream.role === role);
    const net = first('net');
    const bought = first('import');
    const sold = first('export');
    if (net === undefined || (bought !== undefined && sold !== undefined)) continue;
    const used = first('load') ?? bought;
    const made = first('solar') ?? sold;
    if (used !== undefined && made !== undefined && isDifference(net, used, made, stepOf)) {
      left.add(net);
      findings.add('net-redundant', 'note', {
        of: 'streams',
        net: toldStream(net),
        used: nameOf(used),
        made: nameOf(made),
      });
      continue;
    }
    const beside = bought ?? sold;
    if (beside === undefined || options.repeats === 'add') continue;
    if (options.repeats !== undefined) {
      const [former, latter] = isBefore(net, beside) ? [net, beside] : [beside, net];
      const lost = options.repeats === 'first' ? latter : former;
      left.add(lost);
      const readings = lost.values.filter((value) => !Number.isNaN(value)).length;
      const sum = lost.values.reduce((all, value) => all + (Math.abs(value) || 0), 0);
      const kwh = lost.unit === undefined ? null : sum * kwhPer(lost.unit, stepOf.get(lost)!);
      noteRepeats(options.repeats, lost, { readings, differing: readings, kwh }, findings);
    } else if (isSideOf(net, beside, stepOf)) {
      left.add(beside);
      noteAlternative('side-of-net', beside, findings);
    } else {
      clear = false;
      askParts('net-holds-more', beside.role, [beside, net], findings);
    }
  }
  for (const group of groups) group.streams = group.streams.filter((stream) => !left.has(stream));
  return clear;
}

function isBefore(one: Stream, other: Stream): boolean {
  const line = ({ labels }: Stream) => labels.line[0] ?? 0;
  return line(one) < line(other);
}

type Steps = ReadonlyMap<Stream, number>;

/** Whether a net is, in most intervals, the one less the other, by either sign. */
function isDifference(net: Stream, used: Stream, made: Stream, steps: Steps): boolean {
  const a = kwhByStart(used, net, steps);
  const b = kwhByStart(made, net, steps);
  return [1, -1].some((sign) =>
    holds(net, steps, (start, kwh) => [sign * kwh, (a(start) ?? Number.NaN) - (b(start) ?? Number.NaN)]),
  );
}

/** Whether what is beside a net is, in most intervals, the net's positive or its negative part. */
function isSideOf(net: Stream, beside: Stream, steps: Steps): boolean {
  const side = kwhByStart(beside, net, steps);
  return [1, -1].some((sign) =>
    holds(net, steps, (start, kwh) => [Math.max(0, sign * kwh), side(start) ?? Number.NaN]),
  );
}

/** Whether two figures agree at nearly all of a net's starts at which both are known and one isn't zero. */
function holds(net: Stream, steps: Steps, both: (start: number, kwh: number) => readonly [number, number]): boolean {
  const { labels, values } = net;
  const stepMs = steps.get(net)!;
  const factor = kwhPer(net.unit ?? 'kWh', stepMs);
  let live = 0;
  let unlike = 0;
  for (let i = 0; i < labels.count; i++) {
    const [x, y] = both(startOf(net, i, stepMs), values[i]! * factor);
    if (!(Math.abs(x) > 0 || Math.abs(y) > 0)) continue;
    live++;
    // NaN is unlike: an interval that only one of them has proves nothing.
    if (!(Math.abs(x - y) <= ROUNDING_KWH + ROUNDING_SHARE * Math.max(Math.abs(x), Math.abs(y)))) unlike++;
  }
  return live >= 3 && unlike <= UNLIKE_SHARE * live;
}

/** The energy of a stream by the start of its intervals, kWh, in the unit of another where it has none. */
function kwhByStart(stream: Stream, other: Stream, steps: Steps): (start: number) => number | undefined {
  const stepMs = steps.get(stream)!;
  const factor = kwhPer(stream.unit ?? other.unit ?? 'kWh', stepMs);
  const at = new Map<number, number>();
  for (let i = 0; i < stream.labels.count; i++)
    if (!stream.cumulative) at.set(startOf(stream, i, stepMs), stream.values[i]! * factor);
  return (start) => at.get(start);
}

function startOf({ labels }: Stream, i: number, stepMs: number): number {
  return labels.labelMs[i]! - (labels.labelEnd.at === 'end' ? stepMs : 0);
}
