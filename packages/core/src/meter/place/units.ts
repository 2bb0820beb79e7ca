import { unitReason } from '../../words/placing.ts';
import { DAY_MS, HOUR_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import { kwhPer, meanSize } from '../kwh.ts';
import { type ParseOptions, UNITS, type Unit } from '../options.ts';
import type { Evidence, Labels, Readings, Stream } from '../readings.ts';
import { CHANNELS, channelField, type IntervalSeries } from '../series.ts';
import { isOften, SERVICE_KW, serviceKwOf } from '../service.ts';

/**
 * Gives every stream its unit: the user's word, the file's word, or evidence that leaves one choice.
 * Where more than one is left, an error finding asks; nothing is chosen in silence.
 */
export function settleUnits(
  readings: Readings,
  groups: readonly { labels: Labels; stepMs: number; streams: Stream[] }[],
  options: ParseOptions,
  findings: FindingList,
  evidence: Evidence,
): SettledUnits | undefined {
  const printed = new Set(groups.flatMap(({ streams }) => streams.map((stream) => stream.unit)));
  printed.delete(undefined);
  if (options.unit !== undefined) {
    for (const { streams } of groups) {
      for (const stream of streams) {
        if (
          stream.unit !== undefined &&
          stream.unit !== options.unit &&
          !(stream.unit === 'kW' && options.unit === 'kW-minutes')
        )
          findings.add(
            'unit-overridden',
            'warning',
            { stream: stream.source, printed: stream.unit, stated: options.unit },
            { key: stream.source },
          );
        stream.unit = options.unit;
      }
    }
    evidence.push(`the unit is ${options.unit}: stated`);
    return { read: [options.unit], printed: [...printed] as Unit[] };
  }
  let known = true;
  for (const { stepMs, streams } of groups) {
    const open = streams.filter((stream) => stream.unit === undefined);
    if (open.length === 0) continue;
    const named = streams.find((stream) => stream.unit !== undefined)?.unit;
    if (named !== undefined) {
      for (const stream of open) stream.unit = named;
      evidence.push(`values without a unit are in ${named}, as their neighbours are`);
      continue;
    }
    const plausible = plausibleUnits(open, stepMs);
    const { choices, by } = narrow(plausible, open, stepMs, readings, options);
    if (choices.length === 1) {
      for (const stream of open) stream.unit = choices[0]!;
      evidence.push(`the unit is ${choices[0]}: no other ${unitReason(by)}`);
      findings.add('unit-inferred', 'note', { unit: choices[0]!, by });
      continue;
    }
    known = false;
    findings.add('unit-unknown', 'error', {
      why: 'not-printed',
      choices: choices.map((unit) => ({ unit, dailyKwh: dailyKwh(open, unit, stepMs) })),
    });
  }
  if (!known) return undefined;
  const read = new Set(groups.flatMap(({ streams }) => streams.map((stream) => stream.unit!)));
  return { read: [...read], printed: [...printed] as Unit[] };
}

/** Units that the values were read in, and those that the file itself prints. */
export interface SettledUnits {
  readonly read: readonly Unit[];
  readonly printed: readonly Unit[];
}

/** What a home buys, uses or makes in a year and is believed without asking, kWh. */
const HOME_YEAR_KWH = { least: 200, most: 100_000 };
/** A file of solar alone may be of a small array. Export alone may be as little as nothing. */
const SOLAR_YEAR_LEAST_KWH = 20;
/**
 * A year's energy of the largest channel, scaled from the span, and whether readings are above what a service carries so
 * often that it is the unit that is wrong. A few of those are left out of the year: one wild reading alone could make it any size.
 */
function yearOf(series: IntervalSeries, factor: number, serviceKw: number): { kwh: number; tooHigh: boolean } {
  const { stepHours } = series.axis;
  let kwh = 0;
  let tooHigh = false;
  for (const channel of CHANNELS) {
    const values = series[channelField(channel)];
    if (values === undefined) continue;
    const mostKwh = serviceKw * stepHours;
    let lowKwh = 0;
    let lows = 0;
    let highKwh = 0;
    let highs = 0;
    for (let i = 0; i < values.length; i++) {
      const value = values[i]! * factor;
      if (value > mostKwh) {
        highKwh += value;
        highs++;
      } else if (!Number.isNaN(value)) {
        lowKwh += value;
        lows++;
      }
    }
    const count = lows + highs;
    if (count === 0) continue;
    const often = isOften(highs, count);
    const mean = often ? (lowKwh + highKwh) / count : lowKwh / Math.max(1, lows);
    kwh = Math.max(kwh, mean * ((365.25 * 24) / stepHours));
    tooHigh ||= often;
  }
  return { kwh, tooHigh };
}

/**
 * Asks about the unit where no home has such data: a year outside of what homes have, or readings above what a
 * service carries. A unit that the user states stands, with a warning, unless the file prints another that makes sense.
 */
export function checkYear(
  series: IntervalSeries,
  { read, printed }: SettledUnits,
  options: ParseOptions,
  findings: FindingList,
): void {
  const isHome = series.importKwh !== undefined || series.loadKwh !== undefined;
  const least = isHome ? HOME_YEAR_KWH.least : series.solarKwh === undefined ? 0 : SOLAR_YEAR_LEAST_KWH;
  const { drawKw, feedKw } = serviceKwOf(options.serviceKw);
  // A limit below may be planned: that is no matter of units.
  const serviceKw = Math.max(drawKw, feedKw, SERVICE_KW);
  const fits = (factor: number) => {
    const { kwh, tooHigh } = yearOf(series, factor, serviceKw);
    return kwh >= least && kwh <= HOME_YEAR_KWH.most && !tooHigh;
  };
  if (fits(1) || isBilled(series, options)) return;
  const stepMs = series.axis.stepHours * HOUR_MS;
  const days = (series.axis.intervals * series.axis.stepHours) / 24;
  const yearKwh = (factor: number) => yearOf(series, factor, serviceKw).kwh;
  const unit = read.length === 1 ? read[0]! : undefined;
  const factorOf = (other: Unit) => kwhPer(other, stepMs) / kwhPer(unit!, stepMs);
  const others = unit === undefined ? [] : UNITS.filter((other) => other !== unit && fits(factorOf(other)));
  const why =
    options.unit === undefined
      ? 'not-stated'
      : printed.some((other) => others.includes(other))
        ? 'contradicts-file'
        : 'stated';
  findings.add('unit-implausible', why === 'stated' ? 'warning' : 'error', {
    why,
    units: read,
    yearKwh: yearKwh(1),
    days,
    others: others.map((other) => ({ unit: other, yearKwh: yearKwh(factorOf(other)) })),
    printed,
  });
}

/** Whether what was read as bought is what was billed. */
export function isBilled({ importKwh }: IntervalSeries, { billedKwh }: ParseOptions): boolean {
  if (billedKwh === undefined || importKwh === undefined) return false;
  let sum = 0;
  for (const kwh of importKwh) sum += kwh || 0;
  return Math.abs(sum / billedKwh - 1) < 0.1;
}

/** A price that is believed without being stated, of a kWh in the file's currency. */
const PLAUSIBLE_PRICE = { least: 0.02, most: 1.5 };

/** Narrows the units in question by a bill, then by cost. */
function narrow(
  units: readonly Unit[],
  streams: readonly Stream[],
  stepMs: number,
  readings: Readings,
  options: ParseOptions,
): { choices: readonly Unit[]; by: 'bill' | 'cost' | 'daily-energy' } {
  const { billedKwh, pricePerKwh } = options;
  const bought = streams.filter((stream) => stream.role === 'import' || stream.role === 'net');
  if (billedKwh !== undefined && bought.length > 0) {
    const fits = units.filter((unit) => Math.abs(totalKwh(bought, unit, stepMs) / billedKwh - 1) < 0.1);
    if (fits.length === 1) return { choices: fits, by: 'bill' };
  }
  if (readings.costPerValue !== undefined) {
    const price = (unit: Unit) => readings.costPerValue! / kwhPer(unit, stepMs);
    const fits = units.filter((unit) =>
      pricePerKwh === undefined
        ? price(unit) >= PLAUSIBLE_PRICE.least && price(unit) <= PLAUSIBLE_PRICE.most
        : Math.abs(Math.log(price(unit) / pricePerKwh)) < Math.log(1.4),
    );
    if (fits.length === 1) return { choices: fits, by: 'cost' };
  }
  return { choices: units, by: 'daily-energy' };
}

function totalKwh(streams: readonly Stream[], unit: Unit, stepMs: number): number {
  let total = 0;
  for (const { values } of streams) for (const value of values) if (value > 0) total += value;
  return total * kwhPer(unit, stepMs);
}

/** Daily energy of a home, or of its solar, by which units are told apart, kWh: narrower than what is taken when stated. */
const PLAUSIBLE_DAILY_KWH = { least: 1, most: 200 };

function plausibleUnits(streams: readonly Stream[], stepMs: number): readonly Unit[] {
  const candidates =
    streams[0]!.unitChoices ??
    (stepMs === HOUR_MS ? (['kWh', 'Wh', 'kW-minutes'] as const) : (['kWh', 'kW', 'Wh', 'W'] as const));
  return candidates.filter((unit) => {
    const daily = dailyKwh(streams, unit, stepMs);
    return daily >= PLAUSIBLE_DAILY_KWH.least && daily <= PLAUSIBLE_DAILY_KWH.most;
  });
}

function dailyKwh(streams: readonly Stream[], unit: Unit, stepMs: number): number {
  let most = 0;
  for (const { values, cumulative } of streams) {
    if (cumulative) {
      most = Math.max(most, (rangeOf(values) / values.length) * (DAY_MS / stepMs) * kwhPer(unit, HOUR_MS));
      continue;
    }
    most = Math.max(most, meanSize(values) * (DAY_MS / stepMs) * kwhPer(unit, stepMs));
  }
  return most;
}

function rangeOf(values: Float64Array): number {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (const value of values) {
    if (value < least) least = value;
    if (value > most) most = value;
  }
  return most - least;
}
