import { DAY_MS, MINUTE_MS } from './durations.ts';
import type { FindingList } from './findings.ts';
import type { Channel, IntervalSeries } from './series.ts';
import { dateAt } from './span.ts';

/** Hours in which the sun may carry a home, from and to. */
const SUN_HOURS = { from: 9, to: 16 };
/** Of the hours of sun, and of the others, those without import: a home that has no sun has as many by day as by night. */
const OTHER_TIMES = 2;
const TOLERATED_SHARE = 0.02;
/** More, by night too, and a battery may carry it, or the meter is too coarse to tell. */
const MOST_SHARE = 0.2;

/** Hours about noon, in which a roof gives most. */
const NOON = { from: 10, to: 15 };
/** What a home buys then, of what it buys in the other hours on the mean: with less it has a roof already. */
const LEAST_AT_NOON = 0.25;
/** Where a roof is new that falls to less than this of what it was. Where it doesn't, the home sold before too, or has no roof yet. */
const FALLEN = 0.6;

/** From when to when the files hold a channel, ms since the epoch. */
export interface ChannelSpan {
  readonly from: number;
  readonly to: number;
}

/** Channels that begin later than what is bought: what is sold, and the solar that began with it. */
export function laterChannels(spans: ReadonlyMap<Channel, ChannelSpan>): ReadonlySet<Channel> {
  const [bought, sold, solar] = [spans.get('import'), spans.get('export'), spans.get('solar')];
  if (bought === undefined || sold === undefined || !(sold.from - bought.from > DAY_MS)) return new Set();
  const isWithIt = solar !== undefined && Math.abs(solar.from - sold.from) <= DAY_MS;
  return new Set<Channel>(isWithIt ? ['export', 'solar'] : ['export']);
}

/**
 * The series of a home that began to sell in the midst of its data: before the first reading of export nothing was sold, and what began
 * with it made nothing. So it is where the files of those days say which registers there are, and else where none names a register of
 * export, no solar is metered, what is bought by day is no more often nothing than by night, and what is bought about noon falls with the
 * first export. Else export is not known there, and stays so.
 *
 * @param files those that were joined, each by itself: a gap at the beginning of a file is none where it lists its registers
 */
export function withoutExportBefore(
  series: IntervalSeries,
  files: readonly IntervalSeries[],
  findings: FindingList,
): IntervalSeries {
  const { axis, importKwh, exportKwh, solarKwh } = series;
  if (importKwh === undefined || exportKwh === undefined) return series;
  const stepMs = axis.stepMinutes * MINUTE_MS;
  const at = Math.min(...files.map((file) => Math.ceil((beginOf(file) - axis.startEpochMs) / stepMs)));
  const begins = Math.min(at, leadOf(exportKwh));
  if (begins * stepMs < DAY_MS || begins >= axis.intervals) return series;
  if (files.some(namesExport)) return series;
  const solarLead = solarKwh === undefined ? 0 : leadOf(solarKwh);
  const beginMs = axis.startEpochMs + begins * stepMs;
  const before = files.filter((file) => file.exportKwh === undefined && file.axis.startEpochMs < beginMs);
  const isListed = begins === at && before.length > 0 && before.every(listsRegisters);
  const madeSolar = solarKwh?.subarray(0, begins).some((kwh) => kwh > 0) === true;
  if (!isListed && (madeSolar || showsSun(series, begins) || !fallsAtNoon(series, begins))) return series;
  const days = axis.calendar.day[begins - 1]! + 1;
  const by = isListed ? 'configuration' : 'no-reading';
  findings.add('export-begins', 'warning', { from: dateAt(axis, begins), days, by }, { count: begins });
  const zeroed = (kwh: Float64Array) => kwh.map((value, i) => (i < begins && Number.isNaN(value) ? 0 : value));
  const isWithIt = solarKwh !== undefined && Math.abs(solarLead - begins) * stepMs <= DAY_MS;
  return { ...series, exportKwh: zeroed(exportKwh), ...(isWithIt ? { solarKwh: zeroed(solarKwh) } : {}) };
}

/** When the export of a file begins: with its first reading, but with the file where that lists its registers. */
function beginOf({ axis, exportKwh, parts = [] }: IntervalSeries): number {
  if (exportKwh === undefined) return Number.POSITIVE_INFINITY;
  const isListed = parts.some((part) => part.channel === 'export' && part.allListed);
  return axis.startEpochMs + (isListed ? 0 : leadOf(exportKwh)) * axis.stepMinutes * MINUTE_MS;
}

/** Whether a file names a register of export and holds nothing of it. */
function namesExport({ parts = [] }: IntervalSeries): boolean {
  return parts.some(({ channel, kwh }) => channel === 'export' && kwh === undefined);
}

/** Whether a file says which registers there are, of which none is of export. */
function listsRegisters({ parts = [] }: IntervalSeries): boolean {
  return parts.length > 0 && parts.every(({ allListed }) => allListed);
}

/** How many intervals are without a value before the first that has one. */
function leadOf(kwh: Float64Array): number {
  const first = kwh.findIndex((value) => !Number.isNaN(value));
  return first < 0 ? kwh.length : first;
}

/** Whether by day nothing was bought more often than in the other hours, in the first intervals of a series, or often at any hour. */
function showsSun(series: IntervalSeries, intervals: number): boolean {
  const [others, sunny] = byHours(series, 0, intervals, SUN_HOURS, (kwh) => (kwh === 0 ? 1 : 0)).map(
    (share) => share || 0,
  );
  return others! > MOST_SHARE || sunny! > OTHER_TIMES * others! + TOLERATED_SHARE;
}

/** Whether a home bought as others do about noon before an interval, and much less from it on: a meter that counts each phase is never at 0. */
function fallsAtNoon(series: IntervalSeries, begins: number): boolean {
  const before = noonShare(series, 0, begins);
  return before >= LEAST_AT_NOON && noonShare(series, begins, series.axis.intervals) < FALLEN * before;
}

/** What is bought in an hour about noon, of what is bought in one of the others, on the mean. */
function noonShare(series: IntervalSeries, from: number, to: number): number {
  const [others, noon] = byHours(series, from, to, NOON, (kwh) => kwh);
  return noon / others;
}

/** Means of what is made of the import of intervals, outside of some hours of the day and within them; NaN where none is known. */
function byHours(
  { axis, importKwh }: IntervalSeries,
  fromInterval: number,
  toInterval: number,
  { from, to }: typeof NOON,
  of: (kwh: number) => number,
): [others: number, within: number] {
  const sums = [0, 0];
  const known = [0, 0];
  for (let i = fromInterval; i < toInterval; i++) {
    const kwh = importKwh![i]!;
    if (Number.isNaN(kwh)) continue;
    const hour = axis.calendar.minuteOfDay[i]! / 60;
    const k = hour >= from && hour < to ? 1 : 0;
    sums[k]! += of(kwh);
    known[k]!++;
  }
  return [sums[0]! / known[0]!, sums[1]! / known[1]!];
}
