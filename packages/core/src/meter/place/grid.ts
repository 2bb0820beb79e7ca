import { type Axis, STEP_MINUTES } from '../../axis/index.ts';
import { zoneOffsetMinutes } from '../../axis/inside.ts';
import { HOUR_MS, MINUTE_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import { kwhPer } from '../kwh.ts';
import type { ParseOptions } from '../options.ts';
import type { Group, Stream } from '../readings.ts';
import type { Channel } from '../series.ts';
import { dateAt } from '../span.ts';
import { noteRepeats } from './repeats.ts';

/** Shorter ones are summed to it. */
const SHORTEST_STEP_MS = STEP_MINUTES[0] * MINUTE_MS;

/** Rounds starts to the grid that most of them lie on; drops, with a finding, what lies elsewhere. */
export function snapToGrid(starts: Float64Array, group: Group, findings: FindingList): void {
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
  let mostMs = 0;
  const isShort = stepMs < SHORTEST_STEP_MS;
  const taken = new Set<number>();
  const far: number[] = [];
  const move = (i: number, slot: number) => {
    if (isShort) taken.add(slot);
    if (starts[i] === slot) return;
    drifted++;
    mostMs = Math.max(mostMs, Math.abs(starts[i]! - slot));
    starts[i] = slot;
  };
  const slotAt = (ms: number, round: (value: number) => number) => round((ms - whole) / stepMs) * stepMs + whole;
  const onGrid = new Set(isShort ? starts.filter((start) => slotAt(start, Math.round) === start) : []);
  const nearMs = Math.max(stepMs / 10, Math.min(30_000, stepMs / 4));
  for (let i = 0; i < starts.length; i++) {
    const start = starts[i]!;
    if (Number.isNaN(start)) continue;
    const slot = slotAt(start, Math.round);
    if (Math.abs(start - slot) <= nearMs && (slot === start || !onGrid.has(slot))) move(i, slot);
    else far.push(i);
  }
  // A short step is summed to a longer one, where it doesn't matter which of two a late reading is of: the one that has none.
  const mayMove = isShort && far.length <= starts.length / 2;
  for (const i of far) {
    const start = starts[i]!;
    const nearest = slotAt(start, Math.round);
    const beside = [slotAt(start, Math.floor), slotAt(start, Math.ceil)];
    const free = mayMove ? beside.find((slot) => !taken.has(slot)) : undefined;
    if (free !== undefined) move(i, free);
    else if (Math.abs(start - nearest) <= nearMs) move(i, nearest);
    else {
      starts[i] = Number.NaN;
      findings.add('off-grid', 'warning', { stepMinutes: stepMs / MINUTE_MS }, { line: labels.line[i]! });
    }
  }
  if (drifted > 0) findings.add('clock-drift', 'note', { mostSeconds: mostMs / 1000 }, { count: drifted });
}

function isSame(kwh: number, other: number): boolean {
  return Math.abs(kwh - other) <= 1e-9 * Math.max(1, Math.abs(kwh));
}

/** Whether the zone's clock goes back within two hours of an instant. */
function repeatsAnHour(zone: string, atMs: number): boolean {
  return zoneOffsetMinutes(zone, atMs - 2 * HOUR_MS) > zoneOffsetMinutes(zone, atMs + 2 * HOUR_MS);
}

/** One stream on a grid of its own step, in kWh; duplicates compared. */
export function placeStream(
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
  /** Readings that `repeats` leaves out. */
  const left = { readings: 0, differing: 0, kwh: 0 };
  const firstLines: number[] = [];
  /** Where two readings differ. */
  const clash = new Set<number>();
  /** Where an interval has several readings: the last of them, and all of them added. */
  const several = new Map<number, { lastKwh: number; addKwh: number }>();
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
    if (Number.isNaN(value)) return;
    if (!Number.isNaN(known)) {
      const so = several.get(slot);
      several.set(slot, { lastKwh: value, addKwh: (so?.addKwh ?? known) + value });
    }
    if (clash.has(slot)) return;
    if (Number.isNaN(known)) grid[slot] = value;
    else if (repeats === 'add') grid[slot] = known + value;
    else if (repeats !== undefined) {
      if (repeats === 'last') grid[slot] = value;
      left.readings++;
      if (!isSame(known, value)) left.differing++;
      left.kwh += Math.abs(repeats === 'last' ? known : value);
    } else if (isSame(known, value)) duplicates++;
    else if (
      durationMs !== undefined &&
      (durationMs[i] === 0 || durationMs[rowAt[slot]! - 1] === 0) &&
      repeatsAnHour(zone, start)
    ) {
      // Two readings start at once in a repeated hour and one has no duration: both hold energy of that hour.
      grid[slot] = known + value;
      findings.add(
        'reading-without-duration',
        'warning',
        {},
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
        { holds: whole ? 'all' : 'one' },
        { line: line[i]!, energyKwh: size * factor, key: String(whole) },
      );
      continue;
    }
    put(i, start, second === undefined ? 1 : 0.5);
    if (second !== undefined) put(i, second, 0.5);
  }
  if (repeats === 'first' || repeats === 'last') noteRepeats(repeats, stream, left, findings);
  if (duplicates > 0) findings.add('duplicate', 'note', { of: 'interval' }, { count: duplicates });
  if (differing > 0) {
    let energyKwh = 0;
    const choices = repeatChoices(grid, several);
    for (const slot of clash) {
      energyKwh += Math.abs(grid[slot]!);
      grid[slot] = Number.NaN;
    }
    if (clash.size > Math.max(2, size / 200)) {
      findings.add(
        'duplicate-differs',
        'error',
        { became: 'question', intervals: clash.size, ...choices },
        { lines: firstLines, count: clash.size, energyKwh },
      );
      return undefined;
    }
    findings.add(
      'duplicate-differs',
      'warning',
      { became: 'gaps' },
      { lines: firstLines, count: clash.size, energyKwh },
    );
  }
  return grid;
}

/** What each answer would make of several readings an interval; `grid` holds the first of each. */
function repeatChoices(
  grid: Float64Array,
  several: ReadonlyMap<number, { readonly lastKwh: number; readonly addKwh: number }>,
) {
  const choices = { firstKwh: 0, lastKwh: 0, addKwh: 0 };
  for (let slot = 0; slot < grid.length; slot++) {
    const first = Math.abs(grid[slot]!) || 0;
    const so = several.get(slot);
    choices.firstKwh += first;
    choices.lastKwh += so === undefined ? first : Math.abs(so.lastKwh);
    choices.addKwh += so === undefined ? first : Math.abs(so.addKwh);
  }
  return choices;
}

/** Sums `by` slots into one; a sum with a gap in it is a gap, and the finding says what energy that leaves out. */
export function coarsen(grid: Float64Array, by: number, findings: FindingList): Float64Array {
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
    if (missing > 0 && missing < by) findings.add('partly-missing', 'warning', {}, { energyKwh: Math.abs(known) });
  }
  return coarse;
}

/** Intervals in which a channel has no reading; each line given is the last one before a gap. */
export function reportGaps(
  channels: ReadonlyMap<Channel, Float64Array>,
  lineAt: Int32Array,
  first: number,
  last: number,
  axis: Axis,
  findings: FindingList,
): void {
  const lacking = new Set<Channel>();
  const lines: number[] = [];
  let count = 0;
  let inGap = false;
  let line = 0;
  let run = 0;
  const longest = { intervals: 0, end: 0 };
  const names = [...channels.keys()];
  const series = [...channels.values()];
  for (let i = first; i < last; i++) {
    let gap = false;
    for (let c = 0; c < series.length; c++)
      if (Number.isNaN(series[c]![i]!)) {
        gap = true;
        lacking.add(names[c]!);
      }
    run = gap ? run + 1 : 0;
    if (gap) {
      count++;
      if (!inGap) lines.push(line);
    }
    if (run > longest.intervals) Object.assign(longest, { intervals: run, end: i + 1 - first });
    inGap = gap;
    if (lineAt[i]! > 0) line = lineAt[i]!;
  }
  if (count > 0)
    findings.add(
      'gap',
      'warning',
      {
        after: 'reading',
        channels: [...lacking],
        longest: {
          from: dateAt(axis, longest.end - longest.intervals),
          to: dateAt(axis, longest.end - 1),
          intervals: longest.intervals,
        },
      },
      { lines, count },
    );
}

export function mod(a: number, b: number): number {
  return ((a % b) + b) % b;
}
