import { type Axis, formatDate, makeAxis } from '../axis/index.ts';
import { startMsOf } from '../axis/inside.ts';
import { withEnergy } from './parts.ts';
import { CHANNELS, channelField, type IntervalSeries } from './series.ts';

/** Local dates, both included: `2025-04-01` to `2025-12-31`. */
export interface DateSpan {
  readonly from?: string | undefined;
  readonly to?: string | undefined;
}

/** A stretch of local dates in which intervals lack a value. */
export interface MissingSpan {
  readonly from: string;
  readonly to: string;
  readonly intervals: number;
}

/** The part of a series on given local dates; undefined where it has none. */
export function cutToSpan(series: IntervalSeries, { from, to }: DateSpan): IntervalSeries | undefined {
  const { axis } = series;
  const kept = axis.calendar.days.filter((day) => {
    const date = formatDate(day);
    return (from === undefined || date >= from) && (to === undefined || date <= to);
  });
  if (kept.length === 0) return undefined;
  const first = kept[0]!.firstInterval;
  const end = kept.at(-1)!.firstInterval + kept.at(-1)!.intervals;
  if (first === 0 && end === axis.intervals) return series;
  const cut: { -readonly [K in keyof IntervalSeries]: IntervalSeries[K] } = {
    axis: makeAxis({
      startEpochMs: startMsOf(axis, first),
      stepMinutes: axis.stepMinutes,
      intervals: end - first,
      zone: axis.zone,
    }),
  };
  for (const channel of CHANNELS) {
    const field = channelField(channel);
    if (series[field] !== undefined) cut[field] = series[field].slice(first, end);
  }
  if (series.parts !== undefined) cut.parts = withEnergy(series.parts, (kwh) => kwh.slice(first, end));
  if (series.estimated !== undefined) cut.estimated = series.estimated.slice(first, end);
  return cut;
}

/** The local date that an interval starts on. */
export function dateAt({ calendar }: Axis, interval: number): string {
  return formatDate(calendar.days[calendar.day[interval]!]!);
}

/** A stretch of intervals. */
export interface Run {
  readonly firstInterval: number;
  readonly intervals: number;
}

/** Runs of intervals without a value, in order. */
export function gapsOf(values: Float64Array): Run[] {
  const gaps: Run[] = [];
  for (let i = 0; i < values.length; i++) {
    if (!Number.isNaN(values[i]!)) continue;
    let end = i + 1;
    while (end < values.length && Number.isNaN(values[end]!)) end++;
    gaps.push({ firstInterval: i, intervals: end - i });
    i = end;
  }
  return gaps;
}

/** Stretches in which a channel lacks a value, in local dates, the longest first. */
export function missingSpans({ axis }: Pick<IntervalSeries, 'axis'>, values: Float64Array): MissingSpan[] {
  return gapsOf(values)
    .map(({ firstInterval, intervals }) => ({
      from: dateAt(axis, firstInterval),
      to: dateAt(axis, firstInterval + intervals - 1),
      intervals,
    }))
    .sort((a, b) => b.intervals - a.intervals);
}

/** The longest run of local dates of which no interval lacks a value, with its length; undefined where there is none. */
export function longestWholeSpan(series: IntervalSeries): { from: string; to: string; days: number } | undefined {
  const { axis } = series;
  const { days } = axis.calendar;
  const channels = CHANNELS.flatMap((channel) => series[channelField(channel)] ?? []);
  let best = { first: 0, days: 0 };
  let first = 0;
  for (let d = 0; d <= days.length; d++) {
    const day = days[d];
    let whole = day !== undefined;
    for (let i = day?.firstInterval ?? 0; whole && i < day!.firstInterval + day!.intervals; i++)
      whole = !channels.some((values) => Number.isNaN(values[i]!));
    if (whole) continue;
    if (d - first > best.days) best = { first, days: d - first };
    first = d + 1;
  }
  if (best.days === 0) return undefined;
  return { from: formatDate(days[best.first]!), to: formatDate(days[best.first + best.days - 1]!), days: best.days };
}
