import { dateOfCivilDay, formatDate, intervalStartMs, makeAxis, offsetMinutesAt, STEP_MINUTES } from '../axis/index.ts';
import { check, list, number, oneOf } from '../input/door.ts';
import { type ChannelSpan, laterChannels, withoutExportBefore } from './export-begins.ts';
import { FindingList } from './findings.ts';
import { joinChannel } from './join-channel.ts';
import { withEnergy } from './parts.ts';
import { meteredSeries } from './rules.ts';
import { noteSeams } from './seams.ts';
import {
  CHANNELS,
  type Channel,
  type ChannelPart,
  channelField,
  ESTIMATED,
  type Finding,
  type IntervalSeries,
} from './series.ts';
import { missingSpans } from './span.ts';

const DAY_MS = 86_400_000;

/**
 * Joins series of several files of one home: load in one and solar in another, or one half of the year each.
 * Where two files hold the same channel for the same time they are compared, never added: where they differ here and
 * there (readings that were corrected later) the first one counts, where they differ all along they measure different
 * things, which is an error. Registers of one channel in several files are added, and what one of the files lacks is not known.
 * Finer steps are summed to the coarsest. Channels that don't cover the same span (to a day) are an error, but where a home began to
 * sell: export is 0 before.
 *
 * @throws InputError on series of another length than their axis, negative or infinite
 * @returns the joined series, absent where an `error` finding says why it can't be had
 */
export function joinSeries(parts: readonly IntervalSeries[]): {
  series?: IntervalSeries;
  findings: readonly Finding[];
} {
  check({ parts }, { parts: list(meteredSeries) });
  const findings = new FindingList();
  if (parts.length === 0) {
    findings.add('no-readings', 'error', { why: 'nothing-to-join' });
    return { findings: findings.list() };
  }
  if (parts.length === 1) return { series: withoutExportBefore(parts[0]!, parts, findings), findings: findings.list() };
  const zone = parts[0]!.axis.zone;
  if (parts.some((part) => part.axis.zone !== zone)) {
    findings.add('zone-differs', 'error', {});
    return { findings: findings.list() };
  }
  const stepMinutes = Math.max(...parts.map((part) => part.axis.stepMinutes));
  const stepMs = stepMinutes * 60_000;
  const alike: IntervalSeries[] = [];
  const phaseMs = parts.find((part) => part.axis.stepMinutes === stepMinutes)!.axis.startEpochMs % stepMs;
  for (const part of parts) {
    if (stepMinutes % part.axis.stepMinutes !== 0) {
      findings.add('steps-differ', 'error', {
        why: 'no-multiple',
        stepMinutes: part.axis.stepMinutes,
        longestMinutes: stepMinutes,
      });
      return { findings: findings.list() };
    }
    if (part.axis.stepMinutes < stepMinutes) {
      findings.add('steps-joined', 'warning', {
        stepMinutes: part.axis.stepMinutes,
        longestMinutes: stepMinutes,
      });
      alike.push(sumToStep(part, stepMinutes, phaseMs));
    } else if (part.axis.startEpochMs % stepMs !== phaseMs) {
      findings.add('steps-differ', 'error', { why: 'other-minute' });
      return { findings: findings.list() };
    } else alike.push(part);
  }

  // The span of each channel over all files.
  const spans = new Map<Channel, ChannelSpan>();
  for (const part of alike)
    for (const channel of CHANNELS) {
      if (part[channelField(channel)] === undefined) continue;
      const span = spans.get(channel);
      const { startEpochMs, endEpochMs } = part.axis;
      spans.set(
        channel,
        span === undefined
          ? { from: startEpochMs, to: endEpochMs }
          : { from: Math.min(span.from, startEpochMs), to: Math.max(span.to, endEpochMs) },
      );
    }
  // A home may begin to sell in the midst of its data.
  const later = laterChannels(spans);
  const from = Math.max(...[...spans].flatMap(([channel, span]) => (later.has(channel) ? [] : [span.from])));
  const to = Math.min(...[...spans.values()].map((span) => span.to));
  let cutMs = 0;
  for (const span of spans.values()) cutMs = Math.max(cutMs, from - span.from, span.to - to);
  const spansDiffer = () => {
    findings.add('span-differs', 'error', {
      spans: [...spans].map(([channel, span]) => ({ channel, ...datesOf(span, zone) })),
    });
    return { findings: findings.list() };
  };
  if (cutMs > DAY_MS || to <= from) return spansDiffer();
  if (cutMs > 0) findings.add('span-trimmed', 'warning', datesOf({ from, to }, zone));

  const axis = makeAxis({ startEpochMs: from, stepMinutes, intervals: Math.round((to - from) / stepMs), zone });
  const series: { -readonly [K in keyof IntervalSeries]: IntervalSeries[K] } = { axis };
  const estimated = new Uint8Array(axis.intervals);
  const registers: ChannelPart[] = [];
  for (const channel of spans.keys()) {
    const field = channelField(channel);
    const joined = joinChannel(alike, channel, axis, estimated, findings);
    if (joined === undefined) return { findings: findings.list() };
    registers.push(...joined.parts);
    series[field] = joined.values;
  }
  if (registers.length > 0) series.parts = registers;
  const whole = withoutExportBefore(series, alike, findings);
  if (later.size > 0 && whole === series) return spansDiffer();
  for (const channel of spans.keys()) {
    const missing = missingSpans({ axis }, whole[channelField(channel)]!);
    if (missing.length > 0)
      findings.add(
        'gap',
        'warning',
        { after: 'joining', channels: [channel], longest: missing[0]! },
        { count: missing.reduce((sum, { intervals }) => sum + intervals, 0), key: channel },
      );
  }
  noteSeams(alike, findings);
  const marks = estimated.some((mark) => mark !== ESTIMATED.no) ? { estimated } : {};
  return { series: { ...whole, ...marks }, findings: findings.list() };
}

/** The local dates of the first and the last instant before the end of a span. */
function datesOf({ from, to }: { from: number; to: number }, zone: string): { from: string; to: string } {
  return { from: dateOf(from, zone), to: dateOf(to - 1, zone) };
}

function dateOf(epochMs: number, zone: string): string {
  return formatDate(dateOfCivilDay(Math.floor((epochMs + offsetMinutesAt(zone, epochMs) * 60_000) / DAY_MS)));
}

/**
 * The same series in coarser steps; a step with a gap in it is a gap.
 * @param stepMinutes a multiple of the series' own step
 * @param phaseMs where steps begin, ms after a multiple of the step since 1970
 * @throws InputError `out-of-range`: a step that is no multiple of the series' own, a series shorter than one step
 */
export function sumToStep(series: IntervalSeries, stepMinutes: number, phaseMs = 0): IntervalSeries {
  check({ series }, { series: meteredSeries });
  const own = series.axis.stepMinutes;
  const multiples = STEP_MINUTES.filter((minutes) => minutes % own === 0);
  check({ stepMinutes }, { stepMinutes: oneOf(multiples, 'out-of-range') });
  check({ phaseMs }, { phaseMs: number({ least: 0, below: stepMinutes * 60_000 }) });
  const { axis } = series;
  const stepMs = stepMinutes * 60_000;
  const by = Math.round(stepMinutes / axis.stepMinutes);
  const start = Math.ceil((axis.startEpochMs - phaseMs) / stepMs) * stepMs + phaseMs;
  const skip = Math.round((start - axis.startEpochMs) / (axis.stepMinutes * 60_000));
  const intervals = Math.floor((axis.intervals - skip) / by);
  check({ series: intervals }, { series: number({ least: 1 }) });
  const coarse: { -readonly [K in keyof IntervalSeries]: IntervalSeries[K] } = {
    axis: makeAxis({ startEpochMs: intervalStartMs(axis, skip), stepMinutes, intervals, zone: axis.zone }),
  };
  const summed = (source: Float64Array) => {
    const sums = new Float64Array(intervals);
    for (let i = 0; i < intervals; i++) {
      let sum = 0;
      for (let j = 0; j < by; j++) sum += source[skip + i * by + j] ?? Number.NaN;
      sums[i] = sum;
    }
    return sums;
  };
  for (const channel of CHANNELS) {
    const source = series[channelField(channel)];
    if (source !== undefined) coarse[channelField(channel)] = summed(source);
  }
  if (series.parts !== undefined) coarse.parts = withEnergy(series.parts, summed);
  if (series.estimated !== undefined) {
    const marks = new Uint8Array(intervals);
    for (let i = 0; i < intervals; i++)
      for (let j = 0; j < by; j++) marks[i] = Math.max(marks[i]!, series.estimated[skip + i * by + j] ?? 0);
    coarse.estimated = marks;
  }
  return coarse;
}
