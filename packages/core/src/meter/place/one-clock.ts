import type { Group, Labels } from '../readings.ts';
import type { Sizes } from './clock.ts';

/** Labels that are put on UTC together, and which of them each label of a group is. */
export interface OneClock {
  readonly labels: Labels;
  readonly sizes: Sizes;
  /** One for each group; undefined where the group's labels are `labels` themselves. */
  readonly places: readonly (Int32Array | undefined)[];
}

/**
 * Groups that share one clock: the rows of one table, whatever their kinds. Read apart, a register that is 0 in the hour
 * that a clock skips would follow another clock than one that isn't.
 */
export function byClock(groups: readonly Group[]): Group[][] {
  const clocks: Group[][] = [];
  for (const group of groups) {
    const known = clocks.find(([first]) => shareClock(first!, group));
    if (known === undefined) clocks.push([group]);
    else known.push(group);
  }
  return clocks;
}

function shareClock(one: Group, other: Group): boolean {
  const areRows = [one, other].every(({ streams }) => streams[0]?.kind !== undefined);
  return (
    areRows &&
    one.stepMs === other.stepMs &&
    one.labels.clock === 'local' &&
    other.labels.clock === 'local' &&
    one.labels.labelEnd.at === other.labels.labelEnd.at &&
    (one.labels.durationMs === undefined) === (other.labels.durationMs === undefined)
  );
}

/** All labels of groups that share a clock, each time once for each time that a group has it, in the order of the file. */
export function uniteLabels(groups: readonly Group[]): OneClock {
  const [first] = groups as readonly Group[] as [Group];
  if (groups.length === 1) return { labels: first.labels, sizes: (i) => sizeOf(first, i), places: [undefined] };
  /** By label and mark, the places of its first, second, … time. */
  const known = new Map<string, number[]>();
  const members: { readonly group: Group; readonly i: number }[][] = [];
  const places = groups.map((group) => {
    const { labels } = group;
    const met = new Map<string, number>();
    return Int32Array.from({ length: labels.count }, (_, i) => {
      const key = `${labels.labelMs[i]}|${labels.mark?.[i] ?? 0}|${(labels.durationMs?.[i] ?? 1) <= 0}`;
      const time = met.get(key) ?? 0;
      met.set(key, time + 1);
      const list = known.get(key) ?? [];
      known.set(key, list);
      const at = list[time] ?? members.push([]) - 1;
      list[time] = at;
      members[at]!.push({ group, i });
      return at;
    });
  });
  const order = members.map((_, at) => at);
  const lines = members.map((own) => Math.min(...own.map(({ group, i }) => group.labels.line[i]!)));
  order.sort((a, b) => lines[a]! - lines[b]!);
  const rank = new Int32Array(order.length);
  for (const [at, member] of order.entries()) rank[member] = at;
  const ordered = order.map((member) => members[member]!);
  const { mark: _, durationMs, offsetMinutes: __, ...kept } = first.labels;
  const labels: Labels = {
    ...kept,
    count: ordered.length,
    labelMs: Float64Array.from(ordered, ([own]) => own!.group.labels.labelMs[own!.i]!),
    line: Int32Array.from(ordered, ([own]) => own!.group.labels.line[own!.i]!),
    mark: Uint8Array.from(ordered, ([own]) => own!.group.labels.mark?.[own!.i] ?? 0),
    ...(durationMs === undefined
      ? {}
      : { durationMs: Float64Array.from(ordered, ([own]) => own!.group.labels.durationMs![own!.i]!) }),
  };
  const sizes = (at: number) => sumOf(ordered[at]!.map(({ group, i }) => sizeOf(group, i)));
  return { labels, sizes, places: places.map((own) => own.map((member) => rank[member]!)) };
}

/** Sum of the magnitudes of a group's values of one label. */
function sizeOf({ streams }: Group, i: number): number {
  let sum = Number.NaN;
  for (const { values } of streams) {
    const value = values[i]!;
    if (!Number.isNaN(value)) sum = (Number.isNaN(sum) ? 0 : sum) + Math.abs(value);
  }
  return sum;
}

/** Of those that are known; NaN where none is. */
function sumOf(values: readonly number[]): number {
  const known = values.filter((value) => !Number.isNaN(value));
  return known.length === 0 ? Number.NaN : known.reduce((sum, value) => sum + value, 0);
}
