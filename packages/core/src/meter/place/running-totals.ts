import { HOUR_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import type { Group, Stream } from '../readings.ts';

/** Marks the streams that count on, from one reading to the next, as running totals. */
export function findRunningTotals(groups: readonly Group[], findings: FindingList): void {
  for (const { streams } of groups)
    for (const stream of streams) {
      if (stream.cumulative || !looksCumulative(stream)) continue;
      stream.cumulative = true;
      findings.add('register-differenced', 'note', { stream: stream.source }, { key: stream.source });
    }
}

/**
 * Whether values never fall from one time to the next, as a meter's running total does, be its steps ever so rare: what
 * a home draws falls again within a day. The order of time counts and not that of the file, for a spreadsheet sorted by
 * its values rises too.
 */
function looksCumulative({ values, labels }: Stream): boolean {
  const { labelMs, count } = labels;
  if (goesBothWays(values, labelMs, count)) return false;
  let inOrder = true;
  for (let i = 1; i < count && inOrder; i++) inOrder = labelMs[i]! >= labelMs[i - 1]!;
  if (inOrder) return risesOnly(values, labelMs, count);
  // Of two rows of one time the former counts first; newest first, the latter.
  const newestFirst = labelMs[0]! > labelMs[count - 1]!;
  const order = Array.from({ length: count }, (_, i) => i).sort(
    (a, b) => labelMs[a]! - labelMs[b]! || (newestFirst ? b - a : a - b),
  );
  return risesOnly(
    Float64Array.from(order, (i) => values[i]!),
    Float64Array.from(order, (i) => labelMs[i]!),
    count,
  );
}

/** Of neighbours in time, so many may step back in what still counts on: an exchanged meter, a reading corrected. */
const STEPS_BACK = 1 / 500;

/**
 * Whether values surely rise and fall too often to count on, told in the order of the file: sorting a year by time takes
 * longer than reading it. Rows that go back in time cut the file into stretches; a step back in time lies between
 * neighbours of each of them at most once, so that rows show at most that many times the steps back there are.
 */
function goesBothWays(values: Float64Array, labelMs: Float64Array, count: number): boolean {
  const later = { rows: 0, up: 0, down: 0 };
  const earlier = { rows: 0, up: 0, down: 0 };
  for (let i = 1; i < count; i++) {
    if (labelMs[i] === labelMs[i - 1]) continue;
    const way = labelMs[i]! > labelMs[i - 1]! ? later : earlier;
    way.rows++;
    if (values[i]! > values[i - 1]!) way.up++;
    else if (values[i]! < values[i - 1]!) way.down++;
  }
  const [most, least] = later.rows >= earlier.rows ? [later, earlier] : [earlier, later];
  return Math.min(most.up, most.down) > (least.rows + 1) * count * STEPS_BACK;
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
  return back <= pairs * STEPS_BACK && (steps >= pairs * 0.3 || (hours >= 24 && steps >= 3 && steps > 50 * back));
}

/** A running total as energy: each reading less the one before. Rollovers are counted through, exchanges are gaps. */
export function difference(totals: Float64Array, stream: Stream, findings: FindingList): Float64Array {
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
        findings.add('register-rollover', 'note', {});
      }
      if (step < 0) findings.add('register-exchanged', 'warning', {});
      else if (i === lastAt + 1) energy[lastAt + shift] = step;
      else findings.add('register-gap', 'warning', {}, { count: i - lastAt, energyKwh: step });
    }
    lastAt = i;
  }
  return energy;
}
