import { median, quantileSorted, sumSimple } from 'simple-statistics';
import { formatDate } from '../../axis/index.ts';
import { CHANNELS, type Channel, channelField, type IntervalSeries } from '../series.ts';
import { checkDaysOfZero } from './days-of-zero.ts';
import { type MeteringFault, meteringFault } from './fault.ts';

/** Readings that no home makes: stuck, spiking, a day over again, zero where the home never is. */
export function checkReadings(series: IntervalSeries, dark: Uint8Array, faults: MeteringFault[]): void {
  const zeroDays = checkDaysOfZero(series, faults);
  checkQuietWeeks(series, faults);
  for (const channel of CHANNELS) {
    const values = series[channelField(channel)];
    if (values === undefined) continue;
    checkStuck(series, channel, values, faults);
    checkSpikes(series, channel, values, faults);
    checkRepeatedDays(series, channel, values, faults);
    if (channel === 'import' || channel === 'load')
      checkZeros(series, channel, values, dark, zeroDays[channel], faults);
  }
}

const dateOf = (series: IntervalSeries, i: number) =>
  formatDate(series.axis.calendar.days[series.axis.calendar.day[i]!]!);

/** So many days in a row, with as many before and after them to compare with. */
const QUIET_DAYS = 10;
/** Under this share of the days before and after, a home is as good as empty; seasons don't come and go in a day. */
const QUIET_SHARE = 0.4;

/** Weeks at a fraction of what the home draws just before and just after. Where sun is metered in, only load can tell. */
function checkQuietWeeks(series: IntervalSeries, faults: MeteringFault[]): void {
  const { axis, loadKwh, importKwh, exportKwh, solarKwh } = series;
  const hasSun = solarKwh !== undefined || exportKwh?.some((kwh) => kwh > 0) === true;
  const values = loadKwh ?? (hasSun ? undefined : importKwh);
  if (values === undefined) return;
  const { days } = axis.calendar;
  const dailyKwh = days.map(({ firstInterval, intervals }) =>
    sumSimple(values.subarray(firstInterval, firstInterval + intervals) as unknown as number[]),
  );
  for (let d = QUIET_DAYS; d + 2 * QUIET_DAYS <= dailyKwh.length; d++) {
    const before = median(dailyKwh.slice(d - QUIET_DAYS, d));
    if (!(dailyKwh[d]! < QUIET_SHARE * before)) continue;
    let end = d;
    while (end < dailyKwh.length && dailyKwh[end]! < QUIET_SHARE * before) end++;
    if (end - d < QUIET_DAYS || end + QUIET_DAYS > dailyKwh.length) continue;
    const quiet = median(dailyKwh.slice(d, end));
    const after = median(dailyKwh.slice(end, end + QUIET_DAYS));
    // Days of nothing but zeros are told as such (days-of-zero).
    if (quiet > 0 && quiet < QUIET_SHARE * after) {
      const data = {
        channel: loadKwh === undefined ? ('import' as const) : ('load' as const),
        from: formatDate(days[d]!),
        to: formatDate(days[end - 1]!),
        dailyKwh: quiet,
        beforeKwh: before,
        afterKwh: after,
      };
      const count = days[end]!.firstInterval - days[d]!.firstInterval;
      faults.push(meteringFault('quiet-weeks', data, { confidence: 'possible', count }));
    }
    d = end;
  }
}

function checkStuck(series: IntervalSeries, channel: Channel, values: Float64Array, faults: MeteringFault[]): void {
  const distinct = new Set<number>();
  for (let i = 0; i < values.length && distinct.size < 200; i++) distinct.add(values[i]!);
  // Coarse meters (0.1 kWh a pulse) repeat themselves honestly.
  if (distinct.size < Math.min(100, values.length / 20)) return;
  // Six hours, and eight readings where they are longer: fewer repeat by chance.
  const longest = Math.max(8, Math.round(6 / series.axis.stepHours));
  // Sorting a year takes longer than all else here: only where a reading above 0 stays so long at all.
  if (longestRun(values) < longest) return;
  // What a quiet home draws all night is its steady base; a meter that hangs holds what it last read.
  const positive = values.filter((value) => value > 0).sort();
  const usual = positive.length === 0 ? 0 : quantileSorted(positive as unknown as number[], 0.5);
  let count = 0;
  let firstAt = -1;
  let run = 1;
  for (let i = 1; i <= values.length; i++) {
    if (i < values.length && values[i] === values[i - 1] && values[i]! > usual) run++;
    else {
      if (run >= longest) {
        count += run;
        if (firstAt < 0) firstAt = i - run;
      }
      run = 1;
    }
  }
  if (count === 0) return;
  faults.push(
    meteringFault(
      'stuck-value',
      { channel, intervals: count, firstOn: dateOf(series, firstAt), leastHours: longest * series.axis.stepHours },
      { confidence: 'likely', count },
    ),
  );
}

/** So many like readings above 0 follow each other at most. */
function longestRun(values: Float64Array): number {
  let longest = 0;
  let run = 1;
  for (let i = 1; i < values.length; i++) {
    run = values[i] === values[i - 1] && values[i]! > 0 ? run + 1 : 1;
    if (run > longest) longest = run;
  }
  return longest;
}

function checkSpikes(series: IntervalSeries, channel: Channel, values: Float64Array, faults: MeteringFault[]): void {
  // No home's usual power: less is no spike, however quiet the home.
  const leastKwh = 6 * series.axis.stepHours;
  let candidates = false;
  for (let i = 1; i + 1 < values.length && !candidates; i++) candidates = standsOut(values, i, leastKwh, values[i]!);
  if (!candidates) return;
  const sorted = values.filter((value) => value > 0).sort();
  if (sorted.length < 500) return;
  const high = quantileSorted(sorted as unknown as number[], 0.999);
  const limit = Math.max(4 * high, leastKwh);
  let count = 0;
  let firstAt = -1;
  for (let i = 1; i + 1 < values.length; i++)
    if (standsOut(values, i, limit, limit)) {
      count++;
      if (firstAt < 0) firstAt = i;
    }
  if (count === 0) return;
  faults.push(
    meteringFault(
      'spike',
      { channel, intervals: count, firstOn: dateOf(series, firstAt) },
      { confidence: 'likely', count },
    ),
  );
}

/** Whether a reading is above a limit, and those beside it are at most half of what is given. */
function standsOut(values: Float64Array, i: number, limitKwh: number, ofKwh: number): boolean {
  return values[i]! > limitKwh && values[i - 1]! <= ofKwh / 2 && values[i + 1]! <= ofKwh / 2;
}

function checkRepeatedDays(
  series: IntervalSeries,
  channel: Channel,
  values: Float64Array,
  faults: MeteringFault[],
): void {
  const { days } = series.axis.calendar;
  let count = 0;
  let firstAt = -1;
  for (let d = 1; d < days.length; d++) {
    const now = days[d]!;
    const before = days[d - 1]!;
    if (now.intervals !== before.intervals || now.intervals < 20) continue;
    let same = true;
    let varied = 0;
    for (let k = 0; k < now.intervals && same; k++) {
      const value = values[now.firstInterval + k]!;
      same = value === values[before.firstInterval + k];
      if (k > 0 && value !== values[now.firstInterval + k - 1]) varied++;
    }
    if (!same || varied < now.intervals / 6) continue;
    count += now.intervals;
    if (firstAt < 0) firstAt = now.firstInterval;
  }
  if (count === 0) return;
  faults.push(
    meteringFault(
      'day-repeated',
      { channel, intervals: count, firstOn: dateOf(series, firstAt) },
      { confidence: 'likely', count },
    ),
  );
}

/** Intervals in a row in which a coarse register doesn't move, though the home draws its least. */
const MOST_BETWEEN_STEPS = 2;

/** Whether all readings are so many of one step, and the least that the home draws in the dark is a step or two. */
function isCoarse(values: Float64Array, baseKwh: number): boolean {
  let stepKwh = Number.POSITIVE_INFINITY;
  // Differences of a register are a step and what binary fractions leave of it.
  for (const value of values) if (value > 1e-6 && value < stepKwh) stepKwh = value;
  if (!(baseKwh < 2.5 * stepKwh)) return false;
  return values.every((value) => Number.isNaN(value) || Math.abs(value / stepKwh - Math.round(value / stepKwh)) < 1e-3);
}

function checkZeros(
  series: IntervalSeries,
  channel: Channel,
  values: Float64Array,
  dark: Uint8Array,
  zeroDays: Uint8Array | undefined,
  faults: MeteringFault[],
): void {
  const isOdd = (i: number) => values[i] === 0 && (dark[i] === 1 || channel === 'load') && zeroDays?.[i] !== 1;
  if (!values.some((_, i) => isOdd(i))) return;
  const night: number[] = [];
  for (let i = 0; i < values.length; i++) if (dark[i] === 1 && !Number.isNaN(values[i]!)) night.push(values[i]!);
  if (night.length < 100) return;
  night.sort((a, b) => a - b);
  const base = quantileSorted(night, 0.05);
  if (!(base > 0.02 * series.axis.stepHours)) return;
  // A register that shows tenths of a kWh moves by a tenth every second step: the zero between is its step.
  const atOnce = isCoarse(values, base) ? MOST_BETWEEN_STEPS : 0;
  let count = 0;
  let firstAt = -1;
  for (let i = 0; i < values.length; i++) {
    if (!isOdd(i)) continue;
    let end = i + 1;
    while (end < values.length && isOdd(end)) end++;
    if (end - i > atOnce) {
      count += end - i;
      if (firstAt < 0) firstAt = i;
    }
    i = end - 1;
  }
  if (count === 0) return;
  faults.push(
    meteringFault(
      'zero-run',
      { channel, intervals: count, firstOn: dateOf(series, firstAt), baseKw: base / series.axis.stepHours },
      { confidence: 'possible', count },
    ),
  );
}
