import { median, quantileSorted } from 'simple-statistics';
import { anInterval } from '../axis/inside.ts';
import { bytes, check, list, number, oneOf, optional, type Rule, record } from '../input/door.ts';
import { meteredSeries } from './rules.ts';
import { CHANNELS, type Channel, channelField, ESTIMATED, type IntervalSeries } from './series.ts';
import { gapsOf, type Run } from './span.ts';

/** Gaps up to this many hours are filled where nothing else is asked for. */
const SHORT_GAP_HOURS = 6;

/** How {@link repairGaps} fills. */
export interface GapRepairOptions {
  /** Longest gap that is filled, hours, ≥ 0; longer ones stay. @defaultValue 6 */
  readonly maxGapHours?: number;
  /** Like days that may lend their values, at most, on each side of the gap. @defaultValue 10 */
  readonly likeDays?: number;
}

/** One gap that was filled. */
export interface GapRepair {
  readonly channel: Channel;
  /** First interval of the gap. */
  readonly firstInterval: number;
  readonly intervals: number;
  /** Energy filled in, kWh. */
  readonly energyKwh: number;
  /** What a tenth and nine tenths of the like days stayed under over the same hours, kWh. */
  readonly spreadKwh: readonly [number, number];
  /** Like days that the medians rest on: the fewest of any interval of the gap. */
  readonly likeDays: number;
  /**
   * Of gaps above {@link LONG_GAP_HOURS}: the same filling was tried on stretches of that length which were metered, and
   * the energy filled in was off by up to so many kWh, either way. Absent where fewer than three fit.
   */
  readonly missedByKwh?: number;
}

/** A gap that stayed. */
export interface GapLeft {
  readonly channel: Channel;
  readonly firstInterval: number;
  readonly intervals: number;
  readonly reason: 'too-long' | 'too-few-like-days' | 'too-much';
}

/** What {@link repairGaps} did. */
export interface GapRepairResult {
  /** A new series; the input is never changed. Filled intervals are marked in `estimated`. */
  readonly series: IntervalSeries;
  readonly repairs: readonly GapRepair[];
  readonly left: readonly GapLeft[];
  /** Intervals filled in any channel. */
  readonly filledIntervals: number;
}

/** Fewer like days than this are no evidence. */
const FEWEST_LIKE_DAYS = 3;
/** Above this many hours like days are of another season than the gap: how far the filling misses is tried out. */
export const LONG_GAP_HOURS = 336;
/** Longer gaps than this aren't filled in any case: 92 days, as long as a quarter of a year can be. */
export const LONGEST_GAP_HOURS = 92 * 24;
/** Above this share of a channel nothing is filled but gaps of the default length: the rest would be an invention. */
export const MOST_FILLED_SHARE = 92 / 365;
/** Metered stretches that the filling of a long gap is tried on. */
const TRIES = 12;

/**
 * Fills gaps from like days: the nearest weekdays (or weekend days) on both sides of the gap, at the same local time,
 * leaving out what is estimated itself; their median, and in gaps above two weeks each of them by turns. Gaps that are
 * longer than asked for stay, and stay NaN; so do all but the shortest of a channel that lacks more than a quarter of its
 * span. How far the filling of a gap of weeks may be off is measured: see {@link GapRepair.missedByKwh}.
 * Nothing is hidden: every gap filled is listed with its energy and spread, every filled interval is marked,
 * and {@link undoRepairs} takes it all back.
 *
 * @throws InputError on series of another length than their axis, negative or infinite, and options out of range
 * @example repairGaps(series, { maxGapHours: 3 }).repairs
 */
export function repairGaps(series: IntervalSeries, options: GapRepairOptions = {}): GapRepairResult {
  check(
    { series, options },
    {
      series: meteredSeries,
      options: record<GapRepairOptions>({
        maxGapHours: optional(number({ least: 0, infinite: true })),
        likeDays: optional(number({ whole: true, least: 0, most: 1000 })),
      }),
    },
  );
  const { likeDays = 10 } = options;
  const maxGapHours = Math.min(options.maxGapHours ?? SHORT_GAP_HOURS, LONGEST_GAP_HOURS);
  const { axis } = series;
  const repairs: GapRepair[] = [];
  const left: GapLeft[] = [];
  const repaired: { -readonly [K in keyof IntervalSeries]: IntervalSeries[K] } = { ...series };
  const marks = series.estimated === undefined ? new Uint8Array(axis.intervals) : Uint8Array.from(series.estimated);
  let filledIntervals = 0;
  for (const channel of CHANNELS) {
    const field = channelField(channel);
    const source = series[field];
    if (source === undefined) continue;
    const gaps = gapsOf(source);
    const hoursOf = ({ intervals }: Run) => intervals * axis.stepHours;
    const asked = gaps.filter((gap) => hoursOf(gap) <= maxGapHours + 1e-9);
    const tooMuch = asked.reduce((sum, { intervals }) => sum + intervals, 0) > MOST_FILLED_SHARE * axis.intervals;
    let target: Float64Array | undefined;
    for (const gap of gaps) {
      const { firstInterval: i, intervals } = gap;
      const end = i + intervals;
      if (hoursOf(gap) > maxGapHours + 1e-9) left.push({ channel, firstInterval: i, intervals, reason: 'too-long' });
      else if (tooMuch && hoursOf(gap) > SHORT_GAP_HOURS + 1e-9)
        left.push({ channel, firstInterval: i, intervals, reason: 'too-much' });
      else {
        const long = hoursOf(gap) > LONG_GAP_HOURS;
        const lent: number[][] = [];
        for (let j = i; j < end; j++) lent.push(likeValues(series, source, j, likeDays));
        const fewest = Math.min(...lent.map((values) => values.length));
        if (fewest < FEWEST_LIKE_DAYS) left.push({ channel, firstInterval: i, intervals, reason: 'too-few-like-days' });
        else {
          target ??= Float64Array.from(source);
          let energyKwh = 0;
          for (let j = i; j < end; j++) {
            const value = long ? lentByTurns(series, i, j, lent[j - i]!) : median(lent[j - i]!);
            target[j] = value;
            energyKwh += value;
            if (marks[j] !== ESTIMATED.byRepair) filledIntervals++;
            marks[j] = ESTIMATED.byRepair;
          }
          const totals: number[] = [];
          for (let d = 0; d < fewest; d++) totals.push(lent.reduce((sum, values) => sum + values[d]!, 0));
          totals.sort((a, b) => a - b);
          repairs.push({
            channel,
            firstInterval: i,
            intervals,
            energyKwh,
            spreadKwh: [quantileSorted(totals, 0.1), quantileSorted(totals, 0.9)],
            likeDays: fewest,
            ...(long ? missesOf(series, source, intervals, likeDays) : {}),
          });
        }
      }
    }
    if (target !== undefined) repaired[field] = target;
  }
  if (filledIntervals > 0) repaired.estimated = marks;
  return { series: repaired, repairs, left, filledIntervals };
}

/**
 * A value of a like day, each day of the gap from another one: over weeks the median of a vehicle that charges every third
 * night is nothing at all, and whole days keep both the energy and the peaks.
 */
function lentByTurns({ axis }: IntervalSeries, first: number, i: number, lent: readonly number[]): number {
  return lent[(axis.calendar.day[i]! - axis.calendar.day[first]!) % lent.length]!;
}

/**
 * Fills stretches of a gap's length that were metered as if they were gaps, spread evenly over the data with as much room
 * at both ends as like days need, and says by how much the metered energy was off at most.
 */
function missesOf(
  series: IntervalSeries,
  source: Float64Array,
  intervals: number,
  likeDays: number,
): Pick<GapRepair, 'missedByKwh'> {
  const margin = Math.round((14 * 24) / series.axis.stepHours);
  const room = source.length - intervals - 2 * margin;
  const misses: number[] = [];
  for (let k = 0; k < TRIES && room >= 0; k++) {
    const from = margin + Math.round((room * k) / (TRIES - 1));
    const hidden = source.slice(from, from + intervals);
    let meteredKwh = 0;
    for (const kwh of hidden) meteredKwh += kwh;
    if (Number.isNaN(meteredKwh)) continue;
    const without = Float64Array.from(source);
    without.fill(Number.NaN, from, from + intervals);
    let filledKwh = 0;
    for (let j = from; j < from + intervals; j++) {
      const lent = likeValues(series, without, j, likeDays);
      filledKwh += lent.length < FEWEST_LIKE_DAYS ? Number.NaN : lentByTurns(series, from, j, lent);
    }
    if (!Number.isNaN(filledKwh)) misses.push(Math.abs(meteredKwh - filledKwh));
  }
  return misses.length < 3 ? {} : { missedByKwh: Math.max(...misses) };
}

/** Metered values at the same local time on the nearest like days, nearest first. */
function likeValues(series: IntervalSeries, values: Float64Array, i: number, perSide: number): number[] {
  const { calendar, stepMinutes } = series.axis;
  const own = calendar.day[i]!;
  const weekend = calendar.days[own]!.weekday >= 6;
  const minute = calendar.minuteOfDay[i]!;
  const found: number[] = [];
  let before = 0;
  let after = 0;
  for (let distance = 1; distance < calendar.days.length && (before < perSide || after < perSide); distance++) {
    for (const d of [own - distance, own + distance]) {
      const day = calendar.days[d];
      if (day === undefined || day.weekday >= 6 !== weekend) continue;
      if (d < own ? before >= perSide : after >= perSide) continue;
      const first = day.firstInterval;
      const guess = first + Math.round((minute - calendar.minuteOfDay[first]!) / stepMinutes);
      // On a day with a clock change the same local time lies a shift further on or back.
      const at = [guess, guess + 60 / stepMinutes, guess - 60 / stepMinutes].find(
        (j) => calendar.day[j] === d && calendar.minuteOfDay[j] === minute,
      );
      if (at === undefined || Number.isNaN(values[at]!) || (series.estimated?.[at] ?? 0) !== ESTIMATED.no) continue;
      found.push(values[at]!);
      if (d < own) before++;
      else after++;
    }
  }
  return found;
}

const aRepair: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  record<GapRepair>({
    channel: oneOf(CHANNELS),
    firstInterval: anInterval,
    intervals: number({ whole: true, least: 0 }),
    energyKwh: number(),
    spreadKwh: list(number(), { least: 2, most: 2 }),
    likeDays: number(),
    missedByKwh: optional(number({ least: 0 })),
  })(value, path, looking);
  if (looking.issues.length > before || looking.intervals === undefined) return;
  const { firstInterval, intervals } = value as GapRepair;
  number({ most: looking.intervals - firstInterval })(intervals, [...path, 'intervals'], looking);
};

/**
 * Turns filled intervals back into the gaps that they were; marks of the source stay.
 * @throws InputError on repairs of intervals that the series doesn't have
 */
export function undoRepairs(series: IntervalSeries, repairs: readonly GapRepair[]): IntervalSeries {
  check({ series, repairs }, { series: meteredSeries, repairs: list(aRepair) });
  const undone: { -readonly [K in keyof IntervalSeries]: IntervalSeries[K] } = { ...series };
  const marks = series.estimated === undefined ? undefined : Uint8Array.from(series.estimated);
  for (const { channel, firstInterval, intervals } of repairs) {
    const field = channelField(channel);
    const values = Float64Array.from(undone[field] ?? []);
    values.fill(Number.NaN, firstInterval, firstInterval + intervals);
    undone[field] = values;
    for (let i = firstInterval; i < firstInterval + intervals; i++)
      if (marks?.[i] === ESTIMATED.byRepair) marks[i] = ESTIMATED.no;
  }
  if (marks !== undefined) {
    if (marks.some((mark) => mark !== ESTIMATED.no)) undone.estimated = marks;
    else delete undone.estimated;
  }
  return undone;
}

/**
 * Share of intervals that hold an estimate (by the source or by repair), 0 … 1.
 * @param within 1 for intervals to count (on-peak windows, the days that set demand). @defaultValue all
 * @throws InputError on series of another length than their axis
 */
export function estimatedShare(series: IntervalSeries, within?: Uint8Array): number {
  check({ series, within }, { series: meteredSeries, within: optional(bytes()) });
  const { estimated, axis } = series;
  let count = 0;
  let all = 0;
  for (let i = 0; i < axis.intervals; i++) {
    if (within !== undefined && within[i] === 0) continue;
    all++;
    if (estimated !== undefined && estimated[i] !== ESTIMATED.no) count++;
  }
  return all === 0 ? 0 : count / all;
}

/**
 * The days that set demand: 1 in every interval of the day that holds the highest import (else load) of its
 * calendar month. An estimate there weighs on a demand charge as nowhere else: see {@link estimatedShare}.
 * @throws InputError on series of another length than their axis
 */
export function demandDays(series: IntervalSeries): Uint8Array {
  check({ series }, { series: meteredSeries });
  const { calendar, intervals } = series.axis;
  const values = series.importKwh ?? series.loadKwh;
  const mask = new Uint8Array(intervals);
  if (values === undefined) return mask;
  const best = new Map<string, number>();
  for (let i = 0; i < intervals; i++) {
    const day = calendar.days[calendar.day[i]!]!;
    const month = `${day.year}-${day.month}`;
    const at = best.get(month);
    if (values[i]! > (at === undefined ? Number.NEGATIVE_INFINITY : values[at]!)) best.set(month, i);
  }
  for (const i of best.values()) {
    const day = calendar.days[calendar.day[i]!]!;
    mask.fill(1, day.firstInterval, day.firstInterval + day.intervals);
  }
  return mask;
}

/**
 * Intervals with a gap in any channel.
 * @throws InputError on series of another length than their axis
 */
export function gapIntervals(series: IntervalSeries): number {
  check({ series }, { series: meteredSeries });
  let count = 0;
  for (let i = 0; i < series.axis.intervals; i++)
    if (CHANNELS.some((channel) => Number.isNaN(series[channelField(channel)]?.[i] ?? 0))) count++;
  return count;
}
