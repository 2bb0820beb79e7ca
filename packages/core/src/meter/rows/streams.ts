import { quoteCell } from '../../input/cell.ts';
import { DAY_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import { beginOfDay } from '../midnight.ts';
import { jointPart, knownAs } from '../part.ts';
import type { Evidence, Labels, Stream } from '../readings.ts';
import type { SettledDates } from '../table/dates.ts';
import { UTC_BY_NAME } from '../table/utc-name.ts';
import { type Block, NO_OFFSET } from './block.ts';
import type { ValuePlan } from './value-columns.ts';

/** Turns a block's rows into streams: labels become instants or local clock readings. */
export function addStreams(
  block: Block,
  dates: SettledDates,
  zone: string | undefined,
  streams: Stream[],
  findings: FindingList,
  evidence: Evidence,
): void {
  const n = block.count;
  if (n === 0) return;
  const { civilDays } = dates;
  const labelMs = new Float64Array(n);
  const line = new Int32Array(n);
  const withEnd = block.endMs.length > 0;
  const durationMs = withEnd ? new Float64Array(n) : undefined;
  let withOffset = 0;
  for (let i = 0; i < n; i++) if (block.offset[i] !== NO_OFFSET) withOffset++;
  const byName = block.plan.time.isUtc && withOffset === 0;
  const elapsed = !byName && zone !== undefined && countsElapsed(block, civilDays, zone);
  if (elapsed) evidence.push('the numbers count the intervals since midnight, also on days of a clock change');
  const utc = withOffset > n / 2;
  let count = 0;
  let inclusive = 0;
  const keep = new Int32Array(n);
  for (let i = 0; i < n; i++) {
    const offset = block.offset[i]!;
    const day = civilDays[block.dateId[i]!]!;
    if (Number.isNaN(day)) {
      findings.add(
        'unreadable-row',
        'warning',
        { why: 'no-date-or-time' },
        { line: block.line[i]!, cell: quoteCell(dates.textOf(block.dateId[i]!), 'time') },
      );
      continue;
    }
    if ((offset === NO_OFFSET) === utc) {
      findings.add('mixed-offsets', 'warning', {}, { line: block.line[i]! });
      continue;
    }
    const midnight = elapsed ? beginOfDay(zone, day) : day * DAY_MS;
    const label = midnight + block.timeMs[i]!;
    labelMs[count] = utc ? label - offset * 60_000 : label;
    line[count] = block.line[i]!;
    if (durationMs !== undefined) {
      const endDay = civilDays[block.endDateId[i]!] ?? Number.NaN;
      let duration = endDay * DAY_MS + block.endMs[i]! - label;
      // An end of 00:00 on the start's own date is that day's end.
      if (duration < 0 && block.plan.time.end < 0 && duration + DAY_MS <= 3_600_000) duration += DAY_MS;
      if ((duration / 60_000) % 5 === 4 && duration > 0) {
        duration += 60_000;
        inclusive++;
      } else if (duration > 0 && (duration / 1000) % 60 === 59) {
        duration += 1000;
        inclusive++;
      }
      durationMs[count] = duration;
    }
    keep[count] = i;
    count++;
  }
  if (inclusive > n / 2) evidence.push('ends are inclusive (00:59 for 01:00)');
  if (count === 0) return;
  const labels: Labels = {
    clock: utc || byName || elapsed ? 'utc' : 'local',
    labelEnd: block.plan.time.labelEnd,
    count,
    labelMs,
    line,
  };
  if (durationMs !== undefined) labels.durationMs = durationMs;
  if (block.anyMark && !utc) {
    labels.mark = new Uint8Array(count);
    for (let i = 0; i < count; i++) labels.mark[i] = block.mark[keep[i]!]!;
  }
  if (utc)
    labels.offsetMinutes = [...new Set(block.offset.subarray(0, n))]
      .filter((minutes) => minutes !== NO_OFFSET)
      .sort((a, b) => a - b);
  if (utc) evidence.push('labels state their offset from UTC');
  if (byName) {
    labels.utcByName = true;
    labels.offsetMinutes = [0];
    if (!evidence.includes(UTC_BY_NAME)) evidence.push(UTC_BY_NAME);
  }
  let estimated: Uint8Array | undefined;
  if (block.anyEstimated) {
    estimated = new Uint8Array(count);
    for (let i = 0; i < count; i++) estimated[i] = block.estimated[keep[i]!]!;
  }
  block.plan.values.forEach((plan, v) => {
    let values = block.values[v]!.subarray(0, count);
    if (count < n) values = Float64Array.from(keep.subarray(0, count), (i) => block.values[v]![i]!);
    if (plan.own === true) {
      const filled: number[] = [];
      for (let i = 0; i < count; i++) if (!Number.isNaN(values[i]!)) filled.push(i);
      if (filled.length === 0) return;
      streams.push({
        role: plan.role,
        unit: plan.unit,
        labels: {
          clock: labels.clock,
          labelEnd: labels.labelEnd,
          count: filled.length,
          labelMs: Float64Array.from(filled, (i) => labelMs[i]!),
          line: Int32Array.from(filled, (i) => line[i]!),
          ...(labels.offsetMinutes === undefined ? {} : { offsetMinutes: labels.offsetMinutes }),
          ...(labels.utcByName === undefined ? {} : { utcByName: true }),
        },
        values: Float64Array.from(filled, (i) => values[i]!),
        cumulative: plan.cumulative,
        source: plan.source,
        column: plan.column + 1,
        point: block.point,
        ...kindFields(block, plan),
      });
      return;
    }
    streams.push({
      role: block.role !== undefined && (plan.weak || block.plan.values.length === 1) ? block.role : plan.role,
      unit: plan.unit ?? block.unit,
      labels,
      values,
      cumulative: plan.cumulative,
      source: plan.source,
      column: plan.column + 1,
      point: block.point,
      ...kindFields(block, plan),
      ...(estimated === undefined ? {} : { estimated }),
    });
  });
}

/**
 * Whether interval numbers count on through a clock change: they reach 25 (or 100) on the longest day, or stop at 23 (92) on
 * the shortest. Else they follow the clock.
 */
function countsElapsed({ plan, count, timeMs, dateId }: Block, civilDays: Float64Array, zone: string): boolean {
  const { index, indexMs } = plan.time;
  if (index < 0 || DAY_MS % indexMs !== 0 || indexMs < 60_000) return false;
  const last = new Map<number, number>();
  for (let i = 0; i < count; i++) {
    const day = civilDays[dateId[i]!]!;
    if (Number.isNaN(day)) continue;
    if (timeMs[i]! >= DAY_MS) return true;
    last.set(day, Math.max(last.get(day) ?? 0, timeMs[i]!));
  }
  let shorter = 0;
  for (const [day, most] of last) {
    const length = beginOfDay(zone, day + 1) - beginOfDay(zone, day);
    if (length >= DAY_MS || !last.has(day + 1)) continue;
    if (most + indexMs > length) return false;
    if (most + indexMs === length) shorter++;
  }
  return shorter > 0;
}

/** What is known of a stream's place among the others of its channel. */
function kindFields({ kind, plan: { types, unit }, role }: Block, plan: ValuePlan) {
  const part = jointPart([plan.part, kind.part].filter((each) => each !== undefined));
  const ofColumn = plan.part?.kind === 'stated' ? plan.register : (plan.register ?? (plan.part && knownAs(plan.part)));
  const isNamed = plan.part?.kind !== 'stated' || ofColumn !== undefined;
  const register = [ofColumn, kind.part && knownAs(kind.part)].filter((name) => name !== undefined).join(', ');
  return {
    ...(types.length > 0 || unit >= 0 ? { kind } : {}),
    ...(plan.weak && role === undefined && !kind.understood ? { unclear: true } : {}),
    ...(part === undefined ? {} : { part }),
    ...(isNamed && register !== '' ? { register } : {}),
    ...(kind.total === true ? { total: true } : {}),
    ...(plan.gross === true ? { gross: true } : {}),
  };
}
