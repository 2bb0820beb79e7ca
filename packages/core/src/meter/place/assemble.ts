import { makeAxis, STEP_MINUTES } from '../../axis/index.ts';
import { describeStep } from '../../words/steps.ts';
import { HOUR_MS, MINUTE_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import type { ParseOptions } from '../options.ts';
import { withEnergy } from '../parts.ts';
import type { Evidence, Group, Readings } from '../readings.ts';
import { CHANNELS, type Channel, type ChannelPart, channelField, ESTIMATED, type IntervalSeries } from '../series.ts';
import { channelParts, partsNotRead } from './channel-parts.ts';
import { checkNet, splitRole } from './channels.ts';
import { placeLabels } from './clock.ts';
import { leaveDailyTotals } from './daily-totals.ts';
import { readDayTotals } from './day-totals.ts';
import { coarsen, placeStream, reportGaps, snapToGrid } from './grid.ts';
import { settleGross } from './gross.ts';
import { settleHourlyEnds, settleLabelEnds } from './label-end.ts';
import { spanOf } from './label-span.ts';
import { tellLeftOut } from './left-out.ts';
import { markLone } from './lone-register.ts';
import { settleNets } from './net.ts';
import { byClock, uniteLabels } from './one-clock.ts';
import { settleParts } from './parts.ts';
import { moveRepeatedHour } from './repeated-hour.ts';
import { difference, findRunningTotals } from './running-totals.ts';
import { chooseResolution, groupByLabels } from './steps.ts';
import { holdTotals } from './totals-rows.ts';
import { asksUnitStep } from './unit-step.ts';
import { type OnGrid, uniteStreams } from './unite.ts';
import { checkYear, isBilled, settleUnits } from './units.ts';
import { tellUnread } from './unread-registers.ts';
import { holdAgainstZone } from './zone-evidence.ts';

/** A span of more intervals than this (57 years of 5 minutes) is taken for a mistake in the dates. */
const MAX_SLOTS = 6_000_000;

/** Series, and the lines of the file that intervals of them come from: of the largest reading in each. */
export interface Assembled {
  readonly series: IntervalSeries;
  linesOf(intervals: readonly number[]): number[];
}

type Options = ParseOptions & { zone: string };

/** Streams whose labels have been put on UTC. */
interface Placed {
  readonly group: Group;
  /** Start of each reading, ms since the epoch; NaN where it was left out. */
  readonly starts: Float64Array;
  /** Readings that hold the energy of two intervals: the second start. */
  readonly alsoAt: ReadonlyMap<number, number>;
}

/** The intervals that all streams are summed to, before those without any reading are cut off at both ends. */
interface Grid {
  readonly startMs: number;
  readonly stepMinutes: number;
  readonly stepMs: number;
  readonly intervals: number;
}

/** Puts readings on one axis: steps, clock changes, units, signs, duplicates and gaps are settled here. */
export function assemble(readings: Readings, options: Options, findings: FindingList): Assembled | undefined {
  const { evidence } = readings;
  const groups = groupByLabels(readings.streams, options, findings);
  if (groups === undefined) return undefined;
  settleLabelEnds(groups, options, evidence, findings);
  if (options.repeats === undefined) leaveDailyTotals(groups, findings);
  findRunningTotals(groups, findings);
  readDayTotals(groups, options.zone, evidence, findings);
  settleHourlyEnds(groups, options, evidence, findings);
  if (findings.hasError) return undefined;
  const resolved = chooseResolution(groups, findings);
  if (resolved === undefined || !settleNets(resolved, options, findings)) return undefined;
  if (!settleParts(resolved, options, findings)) return undefined;
  const used = resolved.filter(({ streams }) => streams.length > 0);
  // Before the zone's clock is looked up over years that no meter saw.
  if (used.some((group) => areYearsApart(group, findings))) return undefined;
  if (options.clock === undefined || options.clock === 'local')
    for (const group of used) holdAgainstZone(group, options.zone, options, findings);
  // What the wrong clock makes of the labels is nobody's concern.
  if (findings.hasError) return undefined;
  if (used.length === 0) {
    findings.add('no-readings', 'error', { why: 'none-found' });
    return undefined;
  }
  const units = settleUnits(readings, used, options, findings, evidence);
  if (units === undefined) return undefined;
  evidence.push(`one reading every ${describeStep(Math.min(...used.map((group) => group.stepMs)) / MINUTE_MS)}`);
  const placed = placeGroups(used, options, findings, evidence);
  const grid = gridOf(placed, findings);
  if (grid === undefined) return undefined;
  const found = channelsOn(grid, placed, readings, options, findings);
  if (found === undefined) return undefined;
  const { channels, parts } = found;
  if (!settleGross(used, channels, findings)) return undefined;

  const [first, last] = filledSpan(channels, grid);
  if (last === first) {
    findings.add('no-readings', 'error', { why: whyEmpty(findings) });
    return undefined;
  }
  const { startMs, stepMs, stepMinutes } = grid;
  const axis = makeAxis({
    startEpochMs: startMs + first * stepMs,
    stepMinutes,
    intervals: last - first,
    zone: options.zone,
  });
  reportGaps(channels, linesOn(grid, placed), first, last, axis, findings);
  const series: { -readonly [K in keyof IntervalSeries]: IntervalSeries[K] } = { axis };
  for (const channel of CHANNELS) {
    const values = channels.get(channel);
    if (values !== undefined) series[channelField(channel)] = values.slice(first, last);
  }
  const estimated = estimatedOn(grid, placed);
  if (estimated !== undefined) {
    series.estimated = estimated.slice(first, last);
    let count = 0;
    for (const flag of series.estimated) if (flag !== ESTIMATED.no) count++;
    findings.add('estimated-by-source', 'warning', { estimated: count, intervals: axis.intervals }, { count });
  }
  const { totals = [] } = readings;
  const billed = isBilled(series, options);
  const own = withEnergy(parts, (kwh) => kwh.slice(first, last));
  const marked = markLone(own, series, used, readings.beside ?? [], options, billed, findings);
  if (marked.length > 0) series.parts = marked;
  if (holdTotals(totals, used, options, billed, findings, evidence)) return undefined;
  tellLeftOut(readings, used, series, options, billed, findings, evidence);
  tellUnread(readings, series, billed, findings);
  if (!asksUnitStep(series, options, findings)) checkYear(series, units, options, findings);
  return { series, linesOf: (wanted) => linesOfLargest(wanted, first, grid, placed) };
}

/** Puts the labels of groups on UTC, those that share a clock together, and on the grid of their own step. */
function placeGroups(groups: readonly Group[], options: Options, findings: FindingList, evidence: Evidence): Placed[] {
  const placed = new Map<Group, Placed>();
  for (const group of groups) if (group.labels.clock === 'utc') moveRepeatedHour(group, findings);
  for (const clock of byClock(groups)) {
    const { labels, sizes, places } = uniteLabels(clock);
    const { stepMs } = clock[0]!;
    const { startMs, alsoAt } = placeLabels(labels, stepMs, options.zone, options.clock, sizes, findings, evidence);
    for (const [k, group] of clock.entries()) {
      const own = places[k];
      const starts = own === undefined ? startMs : Float64Array.from(own, (at) => startMs[at]!);
      const also =
        own === undefined
          ? alsoAt
          : new Map([...own.entries()].flatMap(([i, at]) => (alsoAt.has(at) ? [[i, alsoAt.get(at)!] as const] : [])));
      snapToGrid(starts, group, findings);
      placed.set(group, { group, starts, alsoAt: also });
    }
  }
  return groups.map((group) => placed.get(group)!);
}

/** Whether readings are so few in their span that a date must be misread: no home's data are that sparse. */
function isSparse(slots: number, readingCount: number): boolean {
  return slots > 5 * MAX_SLOTS || slots > 100_000 + 20 * readingCount;
}

/** Whether the labels of a group lie years apart, as their own clock tells them; an error finding says so. */
function areYearsApart({ labels, stepMs }: Group, findings: FindingList): boolean {
  const { labelMs, count, line } = labels;
  const [least, most] = spanOf(labels);
  const slots = (most - least) / stepMs + 1;
  if (!isSparse(slots, count)) return false;
  const ends: number[] = [];
  for (let i = 0; i < count; i++) if (labelMs[i] === least || labelMs[i] === most) ends.push(line[i]!);
  noteYearsApart(most - least + stepMs, count / slots, ends, findings);
  return true;
}

function noteYearsApart(spanMs: number, filledShare: number, lines: readonly number[], findings: FindingList): void {
  const years = spanMs / (365.25 * 24 * HOUR_MS);
  findings.add('span-too-long', 'error', { years, filledShare }, { lines, count: lines.length });
}

/** One grid for all streams, of the longest step among them; undefined, with an error finding, where there is none. */
function gridOf(placed: readonly Placed[], findings: FindingList): Grid | undefined {
  let firstMs = Number.POSITIVE_INFINITY;
  let endMs = Number.NEGATIVE_INFINITY;
  for (const { group, starts, alsoAt } of placed) {
    for (const start of starts) {
      if (start < firstMs) firstMs = start;
      if (start + group.stepMs > endMs) endMs = start + group.stepMs;
    }
    for (const start of alsoAt.values()) if (start + group.stepMs > endMs) endMs = start + group.stepMs;
  }
  if (!(endMs > firstMs)) {
    findings.add('no-readings', 'error', { why: 'none-placed' });
    return undefined;
  }
  const longestMs = Math.max(...placed.map(({ group }) => group.stepMs));
  const stepMinutes = STEP_MINUTES.find(
    (minutes) => minutes * MINUTE_MS >= longestMs && (minutes * MINUTE_MS) % longestMs === 0,
  );
  if (stepMinutes === undefined) {
    findings.add('step-unsupported', 'error', { why: 'not-in-an-hour', stepMinutes: longestMs / MINUTE_MS });
    return undefined;
  }
  const stepMs = stepMinutes * MINUTE_MS;
  if (stepMs > longestMs)
    findings.add('summed-to-coarser', 'note', { stepMinutes: longestMs / MINUTE_MS, toMinutes: stepMinutes });
  // Summed intervals begin where an axis from midnight has them begin; else the meter's own minute is kept.
  const phaseMs = stepMs > longestMs ? 0 : ((firstMs % stepMs) + stepMs) % stepMs;
  const startMs = Math.floor((firstMs - phaseMs) / stepMs) * stepMs + phaseMs;
  const intervals = Math.ceil((endMs - startMs) / stepMs);
  const slots = (endMs - startMs) / Math.min(...placed.map(({ group }) => group.stepMs));
  const readingCount = Math.max(...placed.map(({ group }) => group.labels.count));
  if (intervals > MAX_SLOTS || isSparse(slots, readingCount)) {
    const ends: number[] = [];
    for (const { group, starts } of placed)
      for (let i = 0; i < starts.length; i++)
        if (starts[i]! < startMs + stepMs || starts[i]! >= endMs - stepMs) ends.push(group.labels.line[i]!);
    noteYearsApart(endMs - startMs, readingCount / slots, ends, findings);
    return undefined;
  }
  return { startMs, stepMinutes, stepMs, intervals };
}

/** Each channel of the file on the grid, kWh, and what it is added up from; undefined, with an error finding, where readings clash. */
function channelsOn(
  grid: Grid,
  placed: readonly Placed[],
  readings: Readings,
  options: Options,
  findings: FindingList,
): { readonly channels: Map<Channel, Float64Array>; readonly parts: ChannelPart[] } | undefined {
  const has = (role: Channel) => placed.some(({ group }) => group.streams.some((stream) => stream.role === role));
  const hasBoth = has('import') && has('export');
  const streams = new Map<Channel, OnGrid[]>();
  const nets: OnGrid[] = [];
  for (const { group, starts, alsoAt } of placed) {
    const slots = Math.round((grid.intervals * grid.stepMs) / group.stepMs);
    for (const stream of group.streams) {
      let own = placeStream(stream, group.stepMs, starts, alsoAt, grid.startMs, slots, options, findings);
      if (own === undefined) return undefined;
      if (stream.cumulative) own = difference(own, stream, findings);
      const kwh = coarsen(own, Math.round(grid.stepMs / group.stepMs), findings);
      if (stream.role === 'net' && hasBoth) nets.push({ stream, values: kwh });
      else
        for (const [channel, values] of splitRole(stream, kwh, options, findings, readings)) {
          const list = streams.get(channel);
          if (list === undefined) streams.set(channel, [{ stream, values }]);
          else list.push({ stream, values });
        }
    }
  }
  const channels = new Map<Channel, Float64Array>();
  for (const [channel, list] of streams) channels.set(channel, uniteStreams(list, channel, grid, options, findings));
  if (nets.length > 0) checkNet(uniteStreams(nets, 'net', grid, options, findings), channels, options, findings);
  const parts = [...streams].flatMap(([channel, list]) => channelParts(list, channel, readings, options));
  return { channels, parts: [...parts, ...partsNotRead(streams, readings)] };
}

function whyEmpty(findings: FindingList) {
  if (findings.has('part-missing') || findings.has('register-missing')) return 'parts-apart';
  return findings.has('partly-missing') ? 'partly-missing' : 'all-blank';
}

/** From the first interval with a value to the one after the last: rows without any value at the ends are no data. */
function filledSpan(channels: ReadonlyMap<Channel, Float64Array>, { intervals }: Grid): [first: number, last: number] {
  const empty = (i: number) => {
    for (const values of channels.values()) if (!Number.isNaN(values[i]!)) return false;
    return true;
  };
  let first = 0;
  let last = intervals;
  while (first < last && empty(first)) first++;
  while (last > first && empty(last - 1)) last--;
  return [first, last];
}

/** The line of the file that each interval comes from, 0 for none. */
function linesOn(grid: Grid, placed: readonly Placed[]): Int32Array {
  const lines = new Int32Array(grid.intervals);
  for (const { group, starts } of placed)
    for (let i = 0; i < starts.length; i++) {
      const at = intervalAt(grid, starts[i]!);
      if (at >= 0 && at < lines.length) lines[at] = group.labels.line[i]!;
    }
  return lines;
}

/** Which intervals hold a value that the file marks as estimated; undefined where none does. */
function estimatedOn(grid: Grid, placed: readonly Placed[]): Uint8Array | undefined {
  const marks = new Uint8Array(grid.intervals);
  let any = false;
  for (const { group, starts } of placed)
    for (const { estimated } of group.streams) {
      if (estimated === undefined) continue;
      for (let i = 0; i < starts.length; i++) {
        const at = estimated[i] === 1 ? intervalAt(grid, starts[i]!) : -1;
        if (!(at >= 0 && at < marks.length)) continue;
        marks[at] = ESTIMATED.bySource;
        any = true;
      }
    }
  return any ? marks : undefined;
}

/** The line of the largest reading in each of the wanted intervals, counted from `first`. */
function linesOfLargest(wanted: readonly number[], first: number, grid: Grid, placed: readonly Placed[]): number[] {
  const most = new Map(wanted.map((i) => [i + first, { kwh: -1, line: 0 }]));
  for (const { group, starts } of placed)
    for (let i = 0; i < starts.length; i++) {
      const known = most.get(intervalAt(grid, starts[i]!));
      if (known === undefined) continue;
      let kwh = 0;
      for (const { values, cumulative } of group.streams) if (!cumulative) kwh = Math.max(kwh, Math.abs(values[i]!));
      if (kwh > known.kwh) {
        known.kwh = kwh;
        known.line = group.labels.line[i]!;
      }
    }
  return wanted.map((i) => most.get(i + first)!.line);
}

function intervalAt({ startMs, stepMs }: Grid, atMs: number): number {
  return Math.floor((atMs - startMs) / stepMs);
}
