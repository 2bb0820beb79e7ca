import { linearRegression, median, quantileSorted } from 'simple-statistics';
import { formatDate, offsetMinutesAt } from '../axis/index.ts';
import { startMsOf } from '../axis/inside.ts';
import { check, number, optional, record } from '../input/door.ts';
import type { Adjustment } from './adjust.ts';
import { meteredSeries } from './rules.ts';
import { CHANNELS, type Channel, channelField, type IntervalSeries } from './series.ts';
import { type SolarDay, solarDay } from './sun.ts';

const DAY_MS = 86_400_000;
const MINUTE_MS = 60_000;

/** Stands beside every word about transformers. */
export const PANEL_CAUTION =
  'Opening a panel is a licensed person’s work, and the supply side stays live with the main switch off.';

/** What is known about the home beside its data. */
export interface MeteringContext {
  /** Where the home stands; needed to compare the solar day with the sun. North and east positive. */
  readonly latitudeDeg?: number;
  readonly longitudeDeg?: number;
  /** Energy that the utility billed as bought over the span of the data, kWh. Needed to find a leg that is missing. */
  readonly billedKwh?: number;
}

/** A sign that the meter or monitor measures wrongly. */
export interface MeteringFault {
  /** Stable, kebab-case. */
  readonly code:
    | 'grid-reversed'
    | 'leg-reversed'
    | 'leg-missing'
    | 'solar-grid-swapped'
    | 'solar-half'
    | 'solar-in-load'
    | 'clock-shifted'
    | 'clock-without-dst'
    | 'stuck-value'
    | 'spike'
    | 'day-repeated'
    | 'zero-run';
  readonly confidence: 'sure' | 'likely' | 'possible';
  /** What in the data shows it. */
  readonly evidence: string;
  /** What it most often means, and what to look at, in an installer's words. */
  readonly meaning: string;
  /** The correction that the evidence speaks for, and the flag that states it. */
  readonly fix?: { readonly flag: string; readonly adjustment: Adjustment };
  /** Intervals concerned. */
  readonly count: number;
}

/**
 * Looks for metering faults that show in the data: transformers the wrong way round, a leg missing, solar and
 * grid swapped, solar inside load, a clock that is off, and readings that no home makes.
 *
 * Common practice: one transformer on each grid leg, its arrow by the maker's mark towards the source, one on
 * either conductor of the solar feed, where one suffices and counts twice. Nothing is corrected here: a fault
 * names the adjustment that would.
 *
 * @throws InputError on series of another length than their axis, and a place that is not on the earth
 * @example checkMetering(series, { latitudeDeg: 39.7, longitudeDeg: -105 }).map((fault) => fault.code)
 */
export function checkMetering(series: IntervalSeries, context: MeteringContext = {}): MeteringFault[] {
  check(
    { series, context },
    {
      series: meteredSeries,
      context: record<MeteringContext>({
        latitudeDeg: optional(number({ least: -90, most: 90 })),
        longitudeDeg: optional(number({ least: -180, most: 180 })),
        billedKwh: optional(number({ least: 0 })),
      }),
    },
  );
  const faults: MeteringFault[] = [];
  const days = sunDays(series, context);
  const dark = darkIntervals(series, days);
  const swapped = checkSwapped(series, dark, faults);
  if (!swapped) {
    checkReversed(series, dark, context, faults);
    // Where the grid's signs can't be trusted, export says nothing of solar.
    if (faults.length === 0) checkSolarHalf(series, faults);
    checkSolarInLoad(series, dark, faults);
    checkClock(series, days, faults);
  }
  checkReadings(series, dark, faults);
  return faults;
}

/** The sun's day for each local date of the axis; undefined without a place. */
export function sunDays(series: IntervalSeries, context: MeteringContext): SolarDay[] | undefined {
  const { latitudeDeg, longitudeDeg } = context;
  if (latitudeDeg === undefined || longitudeDeg === undefined) return undefined;
  return series.axis.calendar.days.map((day) => solarDay(day.civilDay, latitudeDeg, longitudeDeg));
}

/** 1 where the sun is surely down: half an hour past set and before rise, or between 23:00 and 03:00 without a place. */
export function darkIntervals(series: IntervalSeries, days: readonly SolarDay[] | undefined): Uint8Array {
  const { axis } = series;
  const { calendar } = axis;
  const dark = new Uint8Array(axis.intervals);
  const stepMs = axis.stepMinutes * MINUTE_MS;
  const margin = 90 * MINUTE_MS;
  for (let i = 0; i < axis.intervals; i++) {
    if (days === undefined) {
      const minute = calendar.minuteOfDay[i]!;
      dark[i] = minute >= 1380 || minute < 180 - axis.stepMinutes ? 1 : 0;
      continue;
    }
    const day = days[calendar.day[i]!]!;
    if (Number.isNaN(day.sunriseMs)) continue;
    const start = startMsOf(axis, i);
    dark[i] = start + stepMs < day.sunriseMs - margin || start > day.sunsetMs + margin ? 1 : 0;
  }
  return dark;
}

/** Energy of a channel, all of it and in the dark, kWh. */
function energies(values: Float64Array | undefined, dark: Uint8Array): { all: number; dark: number } {
  let all = 0;
  let night = 0;
  if (values !== undefined)
    for (let i = 0; i < values.length; i++) {
      const value = values[i]!;
      if (Number.isNaN(value)) continue;
      all += value;
      if (dark[i] === 1) night += value;
    }
  return { all, dark: night };
}

const percent = (share: number) => `${Math.round(share * 100)} %`;

/** "Solar" that runs at night beside a "grid" that doesn't. */
function checkSwapped(series: IntervalSeries, dark: Uint8Array, faults: MeteringFault[]): boolean {
  const { importKwh, solarKwh } = series;
  if (importKwh === undefined || solarKwh === undefined) return false;
  const solar = energies(solarKwh, dark);
  const grid = energies(importKwh, dark);
  if (!(solar.all > 0) || solar.dark / solar.all < 0.05) return false;
  if (grid.dark > 0.1 * solar.dark) return false;
  faults.push({
    code: 'solar-grid-swapped',
    confidence: 'sure',
    evidence: `the solar channel has ${percent(solar.dark / solar.all)} of its energy in the dark, the grid channel ${percent(grid.all > 0 ? grid.dark / grid.all : 0)}`,
    meaning: `The transformers of solar and grid seem to be swapped, or their names in the monitor are. ${PANEL_CAUTION}`,
    fix: { flag: '--swap solar,grid', adjustment: { swapSolarAndGrid: true } },
    count: importKwh.length,
  });
  return true;
}

/** Export in the dark: a reversed transformer; a bill that says more than the meter: a leg missing or against the other. */
function checkReversed(
  series: IntervalSeries,
  dark: Uint8Array,
  context: MeteringContext,
  faults: MeteringFault[],
): void {
  const { importKwh, exportKwh } = series;
  const bought = energies(importKwh, dark);
  const sold = energies(exportKwh, dark);
  let darkIntervals = 0;
  let exporting = 0;
  for (let i = 0; i < dark.length; i++) {
    if (dark[i] === 0 || importKwh === undefined) continue;
    const net = importKwh[i]! - (exportKwh?.[i] ?? 0);
    if (Number.isNaN(net)) continue;
    darkIntervals++;
    if (net < 0) exporting++;
  }
  const exportShare = darkIntervals === 0 ? 0 : exporting / darkIntervals;
  const { billedKwh } = context;
  // Turned round, the export of both legs is what the utility billed; one leg less the other is anything.
  const turned = billedKwh === undefined || billedKwh <= 0 || Math.abs(sold.all / billedKwh - 1) < 0.2;
  if (turned && darkIntervals > 20 && exportShare > 0.8 && sold.dark > 4 * bought.dark) {
    faults.push({
      code: 'grid-reversed',
      confidence: 'sure',
      evidence: `${percent(exportShare)} of the dark intervals export (${sold.dark.toFixed(0)} kWh), when there is no sun to export`,
      meaning: `The grid’s transformers point the wrong way: turn both, or swap each one’s leads, so that the arrow follows the maker’s mark. ${PANEL_CAUTION}`,
      fix: { flag: '--flip grid', adjustment: { flipGrid: true } },
      count: exporting,
    });
    return;
  }
  // A home that is billed for much more than it is metered to buy has a part that the transformers don't see.
  const ratio =
    billedKwh === undefined || billedKwh <= 0 || importKwh === undefined ? Number.NaN : bought.all / billedKwh;
  const bothSigns = darkIntervals > 20 && exportShare > 0.02;
  if (bothSigns) {
    faults.push({
      code: 'leg-reversed',
      confidence: ratio < 0.9 ? 'sure' : 'possible',
      evidence: `${percent(exportShare)} of the dark intervals export${Number.isNaN(ratio) ? '' : `, and ${percent(ratio)} of the billed energy is metered`}`,
      meaning: `One of the two mains transformers seems reversed: the monitor reads one leg less the other, loads on both legs vanish, and signs can’t be trusted (or a battery exports at night). These data can’t be mended: turn the transformer and measure anew. ${PANEL_CAUTION}`,
      count: exporting,
    });
    return;
  }
  if (ratio < 0.85) {
    const half = ratio > 0.35 && ratio < 0.65 && series.solarKwh === undefined;
    faults.push({
      code: 'leg-missing',
      confidence: half ? 'likely' : 'possible',
      evidence: `${percent(ratio)} of the billed ${billedKwh!.toFixed(0)} kWh is metered`,
      meaning: `One of the two legs seems not to be measured: a transformer is missing, open, or its plug is out${ratio < 0.2 ? ', or one is reversed' : ''}. ${PANEL_CAUTION}`,
      ...(half ? { fix: { flag: '--scale import=2', adjustment: { scale: { import: 2 } } } } : {}),
      count: importKwh!.length,
    });
  }
}

/** Export above solar, which no home without a battery makes: one conductor of a 240 V feed, counted once. */
function checkSolarHalf(series: IntervalSeries, faults: MeteringFault[]): void {
  const { exportKwh, solarKwh } = series;
  if (exportKwh === undefined || solarKwh === undefined) return;
  let sunny = 0;
  let above = 0;
  let aboveTwice = 0;
  let most = 0;
  for (const value of solarKwh) if (value > most) most = value;
  for (let i = 0; i < solarKwh.length; i++) {
    const solar = solarKwh[i]!;
    if (!(solar > most * 0.05)) continue;
    sunny++;
    if (exportKwh[i]! > solar * 1.1) above++;
    if (exportKwh[i]! > solar * 2.1) aboveTwice++;
  }
  if (sunny < 50 || above < Math.max(5, sunny * 0.002)) return;
  const mends = aboveTwice <= above * 0.02;
  faults.push({
    code: 'solar-half',
    confidence: mends ? 'likely' : 'possible',
    evidence: `export is above solar in ${((100 * above) / sunny).toFixed(1)} % of the sunny intervals${mends ? '; with solar doubled, in almost none' : ''}`,
    meaning: `The solar feed seems to be measured on one of two conductors without being counted twice, or a second array isn’t measured. ${PANEL_CAUTION}`,
    ...(mends ? { fix: { flag: '--scale solar=2', adjustment: { scale: { solar: 2 } } } } : {}),
    count: above,
  });
}

/** Load that rises and falls with solar, cloud by cloud. */
function checkSolarInLoad(series: IntervalSeries, dark: Uint8Array, faults: MeteringFault[]): void {
  const { loadKwh, solarKwh, axis } = series;
  if (loadKwh === undefined || solarKwh === undefined) return;
  // What changes from one day to the next at the same time is cloud, not habit.
  const perDay = Math.round(24 / axis.stepHours);
  const points: [number, number][] = [];
  for (let i = perDay; i < axis.intervals; i++) {
    if (dark[i] === 1) continue;
    const solarStep = solarKwh[i]! - solarKwh[i - perDay]!;
    const loadStep = loadKwh[i]! - loadKwh[i - perDay]!;
    if (Number.isNaN(solarStep) || Number.isNaN(loadStep) || solarStep === 0) continue;
    points.push([solarStep, loadStep]);
  }
  if (points.length < 200) return;
  const slope = linearRegression(points).m;
  if (slope > 0.7)
    faults.push({
      code: 'solar-in-load',
      confidence: slope > 0.85 && slope < 1.15 ? 'sure' : 'likely',
      evidence: `load moves with solar: ${slope.toFixed(2)} kWh for each kWh of solar`,
      meaning: `Solar is counted inside load: the solar feed lands on the load’s side of the transformers, or the monitor adds it. ${PANEL_CAUTION}`,
      fix: { flag: '--solar-in-load', adjustment: { solarInLoad: true } },
      count: points.length,
    });
  else if (slope < -0.5)
    faults.push({
      code: 'solar-in-load',
      confidence: slope < -0.85 ? 'sure' : 'likely',
      evidence: `load falls as solar rises: ${slope.toFixed(2)} kWh for each kWh of solar`,
      meaning: `What is called load seems to be what the grid delivers, solar already taken off: read that column as import (columns.import). ${PANEL_CAUTION}`,
      count: points.length,
    });
}

/** The middle of each day's generation, against solar noon. */
function checkClock(series: IntervalSeries, days: readonly SolarDay[] | undefined, faults: MeteringFault[]): void {
  const { solarKwh, axis } = series;
  if (solarKwh === undefined) return;
  const { calendar } = axis;
  const standard: number[] = [];
  const summer: number[] = [];
  const beyond: number[] = [];
  const zoneOffsets = { least: Number.POSITIVE_INFINITY };
  for (const day of calendar.days)
    zoneOffsets.least = Math.min(zoneOffsets.least, offsetMinutesAt(axis.zone, day.civilDay * DAY_MS));
  let most = 0;
  for (const value of solarKwh) if (value > most) most = value;
  for (let d = 0; d < calendar.days.length; d++) {
    const day = calendar.days[d]!;
    const from = day.firstInterval;
    const to = from + day.intervals;
    let first = -1;
    let last = -1;
    let energy = 0;
    for (let i = from; i < to; i++) {
      const value = solarKwh[i]!;
      if (Number.isNaN(value)) {
        first = -1;
        break;
      }
      energy += value;
      // A few watts of an inverter's own use are no sunlight.
      if (value > most * 0.004) {
        if (first < 0) first = i;
        last = i;
      }
    }
    if (first < 0 || energy < most * 2) continue;
    const startMs = startMsOf(axis, first);
    const endMs = startMsOf(axis, last + 1);
    const middle = (startMs + endMs) / 2;
    const sun = days?.[d];
    // Without a place the zone's own clock stands in for solar noon: good enough to compare seasons.
    const noon = sun?.noonMs ?? day.civilDay * DAY_MS + DAY_MS / 2 - zoneOffsets.least * MINUTE_MS;
    const late = (middle - noon) / MINUTE_MS;
    const isSummer = offsetMinutesAt(axis.zone, startMs) > zoneOffsets.least;
    (isSummer ? summer : standard).push(late);
    if (sun !== undefined && !Number.isNaN(sun.sunriseMs))
      beyond.push(Math.max(sun.sunriseMs - startMs, endMs - sun.sunsetMs) / MINUTE_MS - axis.stepMinutes);
  }
  const told = (minutes: number) => `${Math.abs(Math.round(minutes))} minutes ${minutes > 0 ? 'late' : 'early'}`;
  const enough = standard.length >= 20 && summer.length >= 20;
  if (enough) {
    const difference = median(summer) - median(standard);
    const placed = days === undefined || Math.abs(median(standard)) < 40;
    if (Math.abs(difference) > 35 && Math.abs(difference) < 90 && placed) {
      faults.push({
        code: 'clock-without-dst',
        confidence: days === undefined ? 'likely' : 'sure',
        evidence: `the middle of the solar day lies ${told(difference)} in summer against winter, where the sun itself hardly moves`,
        meaning: 'The clock of the meter doesn’t follow daylight saving time: read its labels as standard time.',
        fix: { flag: '--clock standard', adjustment: {} },
        count: summer.length,
      });
      return;
    }
  }
  const both = [...standard, ...summer];
  if (days === undefined || both.length < 20) return;
  const late = median(both);
  const rounded = Math.round(late / 30) * 30;
  // Arrays that face east or west, and hills, move the middle by up to half an hour.
  if (Math.abs(late) < 40) return;
  const night = beyond.length > 0 ? median(beyond) : 0;
  faults.push({
    code: 'clock-shifted',
    confidence: night > 15 ? 'sure' : Math.abs(late) > 50 ? 'likely' : 'possible',
    evidence: `the middle of the solar day lies ${told(late)} against solar noon${night > 15 ? `, and solar runs ${Math.round(night)} minutes into the dark` : ''}`,
    meaning: 'The clock of the meter, or the stated zone, is off: every price window would be read at the wrong hour.',
    fix: { flag: `--shift ${-rounded}`, adjustment: { shiftMinutes: -rounded } },
    count: both.length,
  });
}

/** Readings that no home makes: stuck, spiking, a day over again, zero where the home never is. */
function checkReadings(series: IntervalSeries, dark: Uint8Array, faults: MeteringFault[]): void {
  for (const channel of CHANNELS) {
    const values = series[channelField(channel)];
    if (values === undefined) continue;
    checkStuck(series, channel, values, faults);
    checkSpikes(series, channel, values, faults);
    checkRepeatedDays(series, channel, values, faults);
    if (channel === 'import' || channel === 'load') checkZeros(series, channel, values, dark, faults);
  }
}

const dateOf = (series: IntervalSeries, i: number) =>
  formatDate(series.axis.calendar.days[series.axis.calendar.day[i]!]!);

function checkStuck(series: IntervalSeries, channel: Channel, values: Float64Array, faults: MeteringFault[]): void {
  const distinct = new Set<number>();
  for (let i = 0; i < values.length && distinct.size < 200; i++) distinct.add(values[i]!);
  // Coarse meters (0.1 kWh a pulse) repeat themselves honestly.
  if (distinct.size < Math.min(100, values.length / 20)) return;
  const longest = Math.max(8, Math.round(6 / series.axis.stepHours));
  let count = 0;
  let firstAt = -1;
  let run = 1;
  for (let i = 1; i <= values.length; i++) {
    if (i < values.length && values[i] === values[i - 1] && values[i]! > 0) run++;
    else {
      if (run >= longest) {
        count += run;
        if (firstAt < 0) firstAt = i - run;
      }
      run = 1;
    }
  }
  if (count === 0) return;
  faults.push({
    code: 'stuck-value',
    confidence: 'likely',
    evidence: `${channel} repeats one value for six hours or more, ${count} intervals in all, first on ${dateOf(series, firstAt)}`,
    meaning: 'The meter or its link hung, and the last value was handed on: treat those intervals as gaps.',
    count,
  });
}

function checkSpikes(series: IntervalSeries, channel: Channel, values: Float64Array, faults: MeteringFault[]): void {
  const sorted = values.filter((value) => value > 0).sort();
  if (sorted.length < 500) return;
  const high = quantileSorted(sorted as unknown as number[], 0.999);
  const limit = Math.max(4 * high, 6 * series.axis.stepHours);
  let count = 0;
  let firstAt = -1;
  for (let i = 1; i + 1 < values.length; i++)
    if (values[i]! > limit && values[i - 1]! <= limit / 2 && values[i + 1]! <= limit / 2) {
      count++;
      if (firstAt < 0) firstAt = i;
    }
  if (count === 0) return;
  faults.push({
    code: 'spike',
    confidence: 'likely',
    evidence: `${channel} has ${count} intervals more than four times above all but a thousandth of the others, first on ${dateOf(series, firstAt)}`,
    meaning:
      'A glitch, or the energy of an outage of the link booked into one interval: it would set a demand charge by itself.',
    count,
  });
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
  faults.push({
    code: 'day-repeated',
    confidence: 'likely',
    evidence: `${channel} repeats the day before, interval by interval, in ${count} intervals, first on ${dateOf(series, firstAt)}`,
    meaning: 'A day was copied where readings were missing: treat it as estimated.',
    count,
  });
}

function checkZeros(
  series: IntervalSeries,
  channel: Channel,
  values: Float64Array,
  dark: Uint8Array,
  faults: MeteringFault[],
): void {
  const night: number[] = [];
  for (let i = 0; i < values.length; i++) if (dark[i] === 1 && !Number.isNaN(values[i]!)) night.push(values[i]!);
  if (night.length < 100) return;
  night.sort((a, b) => a - b);
  const base = quantileSorted(night, 0.05);
  if (!(base > 0.02 * series.axis.stepHours)) return;
  let count = 0;
  let firstAt = -1;
  for (let i = 0; i < values.length; i++)
    if (values[i] === 0 && (dark[i] === 1 || channel === 'load')) {
      count++;
      if (firstAt < 0) firstAt = i;
    }
  if (count === 0) return;
  faults.push({
    code: 'zero-run',
    confidence: 'possible',
    evidence: `${channel} is exactly zero in ${count} intervals, first on ${dateOf(series, firstAt)}, though it hardly ever falls below ${(base / series.axis.stepHours).toFixed(2)} kW in the dark`,
    meaning: 'An outage, or lost readings recorded as zero: blank is not zero.',
    count,
  });
}
