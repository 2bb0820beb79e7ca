import { DAY_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import type { Group, Stream } from '../readings.ts';

/** Rounding of a day's readings, and of their sum. */
const ROUNDING_SHARE = 0.002;

/**
 * Leaves out the sums of days that stand among the readings, each at its date's midnight beside the reading of that time.
 * They are told by their values: nine tenths of the midnights that have two readings have the sum of their date as one.
 */
export function leaveDailyTotals(groups: readonly Group[], findings: FindingList): void {
  for (const { streams } of groups)
    for (const stream of streams) {
      if (stream.cumulative || stream.labels.clock !== 'local') continue;
      const totals = dailyTotals(stream);
      if (totals === undefined) continue;
      for (const i of totals) stream.values[i] = Number.NaN;
      findings.add(
        'totals-row',
        'note',
        { why: 'sum-of-day' },
        { lines: totals.map((i) => stream.labels.line[i]!), count: totals.length },
      );
    }
}

/** Places of the readings that are sums of their date; undefined where there are none, or too few to be sure. */
function dailyTotals({ labels, values }: Stream): number[] | undefined {
  const { labelMs, count } = labels;
  const atMidnight = new Map<number, number[]>();
  for (let i = 0; i < count; i++) {
    if (labelMs[i]! % DAY_MS !== 0 || Number.isNaN(values[i]!)) continue;
    const day = labelMs[i]! / DAY_MS;
    const same = atMidnight.get(day);
    if (same === undefined) atMidnight.set(day, [i]);
    else same.push(i);
  }
  const doubled = [...atMidnight].filter(([, places]) => places.length === 2);
  if (doubled.length < 2) return undefined;
  const sums = new Map<number, number>();
  for (let i = 0; i < count; i++) {
    if (Number.isNaN(values[i]!)) continue;
    const day = Math.floor(labelMs[i]! / DAY_MS);
    sums.set(day, (sums.get(day) ?? 0) + values[i]!);
  }
  const totals: number[] = [];
  for (const [day, [one, other]] of doubled) {
    const larger = values[one!]! > values[other!]! ? one! : other!;
    const rest = sums.get(day)! - values[larger]!;
    if (rest > 0 && Math.abs(values[larger]! - rest) <= ROUNDING_SHARE * rest + 0.01) totals.push(larger);
  }
  return totals.length >= 2 && totals.length >= 0.9 * doubled.length ? totals : undefined;
}
