import { type OffsetSpan, offsetSpans } from '../../axis/index.ts';
import { DAY_MS, HOUR_MS } from '../durations.ts';
import { FindingList } from '../findings.ts';
import type { Evidence, Labels } from '../readings.ts';
import { MARK } from '../table/stamps.ts';
import { spanOf } from './label-span.ts';

/** Labels put on UTC. */
export interface Placed {
  /** Start of each reading's interval, ms since the epoch; NaN where the reading was left out. */
  readonly startMs: Float64Array;
  /** Readings that hold the energy of two intervals (a repeated hour summed into one): the second start. */
  readonly alsoAt: ReadonlyMap<number, number>;
}

/** Sum of magnitudes of a reading's values, all streams of its labels together; NaN where all are blank. */
export type Sizes = (i: number) => number;

/**
 * Puts labels on UTC by the rules that meter files use at clock changes.
 *
 * In spring the skipped hour may be absent, filled with zeros or blanks (left out), or kept in place of the
 * hour after it (moved there). In autumn the repeated hour may occur twice (first pass, second pass, by file
 * order, by a mark, or by an end before its start), once, or summed into one reading (split in two).
 * A file with energy in the skipped hour and every other hour too, and with no repeated one, keeps standard time.
 *
 * Readings are judged by the middle of their interval, so that labels at either end follow one rule.
 */
export function placeLabels(
  labels: Labels,
  stepMs: number,
  zone: string,
  stated: 'local' | 'standard' | 'utc' | undefined,
  sizes: Sizes,
  findings: FindingList,
  evidence: Evidence,
): Placed {
  const n = labels.count;
  const startMs = new Float64Array(n);
  const alsoAt = new Map<number, number>();
  const half = labels.labelEnd.at === 'end' ? -stepMs / 2 : stepMs / 2;
  const { labelMs } = labels;
  if (labels.clock === 'utc' || stated === 'utc') {
    const shift = labels.labelEnd.at === 'end' ? stepMs : 0;
    for (let i = 0; i < n; i++) startMs[i] = labelMs[i]! - shift;
    return { startMs, alsoAt };
  }
  const [least, most] = spanOf(labels);
  /** Start of the first interval and end of the last, as labels tell them. */
  const firstMs = least - (labels.labelEnd.at === 'end' ? stepMs : 0);
  const endMs = most + (labels.labelEnd.at === 'end' ? 0 : stepMs);
  const spans = offsetSpans(zone, least - 2 * DAY_MS, most + 2 * DAY_MS);
  if (stated === 'standard') return placeStandard(labels, stepMs, zone, spans);

  // For each span of one offset the local times that no other span shows: in autumn two spans show the same hour.
  const lows: number[] = [];
  const highs: number[] = [];
  for (let k = 0; k < spans.length; k++) {
    const offset = spans[k]!.offsetMinutes * 60_000;
    const before = k > 0 ? spans[k - 1]!.offsetMinutes * 60_000 : offset;
    lows.push(k === 0 ? Number.NEGATIVE_INFINITY : spans[k]!.fromEpochMs + Math.max(offset, before));
    const after = k + 1 < spans.length ? spans[k + 1]!.offsetMinutes * 60_000 : offset;
    highs.push(k + 1 < spans.length ? spans[k + 1]!.fromEpochMs + Math.min(offset, after) : Number.POSITIVE_INFINITY);
  }
  const special: number[][] = spans.map(() => []);
  let k = 0;
  let falling = 0;
  // Of the span that the row before lay in.
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let shift = 0;
  for (let i = 0; i < n; i++) {
    const mid = labelMs[i]! + half;
    if (i > 0 && labelMs[i]! < labelMs[i - 1]!) falling++;
    if (mid >= low && mid < high) {
      startMs[i] = mid - shift;
      continue;
    }
    while (mid < lows[k]! && k > 0) k--;
    while (k + 1 < spans.length && mid >= lows[k + 1]!) k++;
    low = lows[k]!;
    high = highs[k]!;
    shift = stepMs / 2 + spans[k]!.offsetMinutes * 60_000;
    if (mid < high) startMs[i] = mid - shift;
    else {
      startMs[i] = Number.NaN;
      special[k]!.push(i);
    }
  }
  const newestFirst = falling > n / 2;
  if (newestFirst) evidence.push('rows run from the newest to the oldest');

  let springClash = 0;
  let springClashFull = 0;
  let autumnTwice = 0;
  let autumnOnce = 0;
  const clashes: number[] = [];
  // Findings wait until it is known whether the file follows the zone's clock at all.
  const pending = new FindingList();
  const at = (rows: readonly number[]) => ({ lines: rows.map((i) => labels.line[i]!), count: rows.length });
  for (let t = 0; t + 1 < spans.length; t++) {
    const changeMs = spans[t + 1]!.fromEpochMs;
    const before = spans[t]!.offsetMinutes * 60_000;
    const after = spans[t + 1]!.offsetMinutes * 60_000;
    if (changeMs + before < least - HOUR_MS || changeMs + after > most + HOUR_MS) {
      // The change lies outside the data.
      if (special[t]!.length === 0) continue;
    }
    const date = new Date(changeMs + before).toISOString().slice(0, 10);
    if (after > before) {
      const clash = spring(special[t]!, changeMs, before, after);
      springClash += clash;
      if (clash >= (after - before) / stepMs - 0.5) springClashFull++;
    } else autumn(special[t]!, changeMs, before, after, date);
  }

  if (springClashFull > 0 && autumnTwice === 0 && stated !== 'local') {
    if (isWholeDaysInUtc()) findings.add('clock-unclear', 'error', { from: timeOf(firstMs), to: timeOf(endMs) });
    else
      findings.add(
        'clock-standard',
        'warning',
        { onceInAutumn: autumnOnce > 0 },
        { ...at(clashes), count: springClash },
      );
    evidence.push('labels keep standard time all year: the skipped hour holds energy of its own');
    return placeStandard(labels, stepMs, zone, spans);
  }
  if (clashes.length > 0) {
    findings.add('spring-hour-extra', 'warning', {}, at(clashes));
  }
  findings.take(pending);
  return { startMs, alsoAt };

  /** Whether the data are whole days of the zone if labels are UTC, and none if they are its standard time. */
  function isWholeDaysInUtc(): boolean {
    const offsetMs = (atMs: number) =>
      (spans.findLast(({ fromEpochMs }) => fromEpochMs <= atMs) ?? spans[0]!).offsetMinutes * 60_000;
    return [firstMs, endMs].every((atMs) => atMs % DAY_MS !== 0 && (atMs + offsetMs(atMs)) % DAY_MS === 0);
  }

  function spring(rows: readonly number[], changeMs: number, before: number, after: number): number {
    if (rows.length === 0) return 0;
    const shift = after - before;
    const taken = new Set<number>();
    for (let i = 0; i < n; i++) {
      const start = startMs[i]!;
      if (start >= changeMs - shift && start < changeMs + shift && !Number.isNaN(sizes(i))) taken.add(start);
    }
    let clash = 0;
    const kept: number[] = [];
    const filled: number[] = [];
    for (const i of rows) {
      const size = sizes(i);
      const local = labelMs[i]! + half - stepMs / 2;
      const choices = labels.labelEnd.at === 'end' ? [local - after, local - before] : [local - before, local - after];
      const free = choices.find((start) => !taken.has(start));
      if (Number.isNaN(size)) filled.push(i);
      else if (free !== undefined && (size !== 0 || free === choices[0])) {
        startMs[i] = free;
        taken.add(free);
        kept.push(i);
      } else if (size === 0) filled.push(i);
      else {
        clash++;
        clashes.push(i);
      }
    }
    if (kept.length > 0) pending.add('spring-hour-kept', 'note', {}, at(kept));
    if (filled.length > 0) pending.add('spring-hour-filled', 'note', {}, at(filled));
    return clash;
  }

  function autumn(rows: readonly number[], changeMs: number, before: number, after: number, date: string): void {
    const shift = before - after;
    const overlapFrom = changeMs + after;
    const overlapTo = changeMs + before;
    // An end before its start names the second pass.
    const byLabel = new Map<number, number[]>();
    const second = new Set<number>();
    const add = (local: number, i: number) => {
      const list = byLabel.get(local);
      if (list === undefined) byLabel.set(local, [i]);
      else list.push(i);
    };
    const { durationMs } = labels;
    const candidates = new Set(rows);
    const edge: number[] = [];
    let edgeLast = 0;
    for (let i = 0; i < n; i++) {
      const mid = labelMs[i]! + half;
      if (mid < overlapFrom - shift || mid >= overlapTo + shift) continue;
      if (
        durationMs !== undefined &&
        durationMs[i]! <= 0 &&
        durationMs[i]! > -2 * shift &&
        labels.labelEnd.at === 'start'
      ) {
        const local = labelMs[i]! + durationMs[i]! - stepMs;
        if (local >= overlapFrom && local < overlapTo) {
          second.add(i);
          candidates.delete(i);
          add(local, i);
          continue;
        }
      }
      if (labels.labelEnd.at === 'end') {
        if (mid >= overlapFrom - stepMs && mid < overlapFrom) edge.push(i);
        if (mid >= overlapTo - stepMs && mid < overlapTo) edgeLast++;
      }
    }
    for (const i of candidates) add(labelMs[i]! + half - stepMs / 2, i);
    // Ends read off the wall clock: the first pass's last interval ends at the label of its first.
    if (edge.length === 2 && edgeLast === 1) {
      const i = edge[newestFirst ? 0 : 1]!;
      startMs[i] = changeMs - stepMs;
      const last = byLabel.get(overlapTo - stepMs);
      if (last?.length === 1) second.add(last[0]!);
    }
    if (byLabel.size === 0) return;
    const once: number[] = [];
    const twice: number[] = [];
    for (const [local, list] of byLabel) {
      const early = local - before;
      const late = local - after;
      if (newestFirst) list.reverse();
      const marked = list.map((i) => (second.has(i) ? MARK.later : (labels.mark?.[i] ?? MARK.none)));
      if (list.length === 1) {
        if (marked[0] !== MARK.none) startMs[list[0]!] = marked[0] === MARK.later ? late : early;
        else once.push(list[0]!);
        continue;
      }
      const anyMark = marked.some((mark) => mark !== MARK.none);
      let turn = 0;
      for (let j = 0; j < list.length; j++) {
        const i = list[j]!;
        if (marked[j] === MARK.later) startMs[i] = late;
        else if (marked[j] === MARK.earlier) startMs[i] = early;
        else if (anyMark) startMs[i] = marked.includes(MARK.later) ? early : late;
        else startMs[i] = turn++ % 2 === 0 ? early : late;
      }
      if (!anyMark) twice.push(...list);
    }
    if (twice.length > 0) {
      autumnTwice++;
      pending.add('autumn-hour-repeated', 'note', { date }, at(twice));
    }
    if (once.length === 0) return;
    autumnOnce++;
    const summed = isSum(once, overlapFrom, overlapTo, shift);
    if (summed === 'nothing') {
      for (const i of once) {
        const local = labelMs[i]! + half - stepMs / 2;
        startMs[i] = local - before;
        alsoAt.set(i, local - after);
      }
      pending.add('autumn-hour-zero', 'note', { date }, at(once));
      return;
    }
    for (const i of once) {
      const local = labelMs[i]! + half - stepMs / 2;
      startMs[i] = local - before;
      if (summed) alsoAt.set(i, local - after);
    }
    if (summed) pending.add('autumn-hour-summed', 'warning', { date }, at(once));
    else pending.add('autumn-hour-once', 'warning', { date }, at(once));
  }

  /** Whether readings of an hour hold what two hours would: beside the hours around them, 1.6 times or more. */
  function isSum(rows: readonly number[], from: number, to: number, shift: number): boolean | 'nothing' {
    let inside = 0;
    for (const i of rows) inside += sizes(i) || 0;
    let around = 0;
    let count = 0;
    for (let i = 0; i < n; i++) {
      const mid = labelMs[i]! + half;
      if ((mid >= from - shift && mid < from) || (mid >= to && mid < to + shift)) {
        const size = sizes(i);
        if (!Number.isNaN(size)) {
          around += size;
          count++;
        }
      }
    }
    if (count > 0 && inside === 0 && around === 0) return 'nothing';
    return count > 0 && inside / rows.length >= 1.6 * (around / count) && inside > 0;
  }
}

function timeOf(localMs: number): string {
  return new Date(localMs).toISOString().slice(11, 16);
}

/** Labels on the zone's standard time: its smallest offset in the year around the data. */
function placeStandard(labels: Labels, stepMs: number, zone: string, spans: readonly OffsetSpan[]): Placed {
  const from = spans[0]!.fromEpochMs;
  let offset = Number.POSITIVE_INFINITY;
  for (const span of offsetSpans(zone, from - 366 * DAY_MS, from)) offset = Math.min(offset, span.offsetMinutes);
  for (const span of spans) offset = Math.min(offset, span.offsetMinutes);
  const shift = (labels.labelEnd.at === 'end' ? stepMs : 0) + offset * 60_000;
  const startMs = new Float64Array(labels.count);
  for (let i = 0; i < startMs.length; i++) startMs[i] = labels.labelMs[i]! - shift;
  return { startMs, alsoAt: new Map() };
}
