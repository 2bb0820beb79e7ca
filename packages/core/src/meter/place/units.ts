import { unitReason } from '../../words/placing.ts';
import { DAY_MS, HOUR_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import { kwhPer, meanSize } from '../kwh.ts';
import { type ParseOptions, UNITS, type Unit } from '../options.ts';
import type { Evidence, Labels, Readings, Stream } from '../readings.ts';
import { CHANNELS, type Channel, channelField, type IntervalSeries } from '../series.ts';
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
  const open: Open[] = [];
  for (const { stepMs, streams } of groups) {
    const silent = streams.filter((stream) => stream.unit === undefined);
    const named = streams.find((stream) => stream.unit !== undefined)?.unit;
    if (named === undefined) open.push(...silent.map((stream) => ({ stream, stepMs })));
    else if (silent.length > 0) {
      for (const stream of silent) stream.unit = named;
      evidence.push(`values without a unit are in ${named}, as their neighbours are`);
    }
  }
  if (!settleOpen(open, readings, options, findings)) return undefined;
  const read = new Set(groups.flatMap(({ streams }) => streams.map((stream) => stream.unit!)));
  return { read: [...read], printed: [...printed] as Unit[] };
}

/** A stream whose unit nothing states. */
interface Open {
  readonly stream: Stream;
  readonly stepMs: number;
}

/** One unit for all streams that state none, as they are of one file; false where it has to be asked. */
function settleOpen(open: readonly Open[], readings: Readings, options: ParseOptions, findings: FindingList): boolean {
  if (open.length === 0) return true;
  const { choices, by } = narrow(possibleUnits(open), open, readings, options);
  const [only] = choices;
  if (choices.length === 1 && isPlain(only!) && (by !== 'daily-energy' || isUsual(open, only!))) {
    for (const { stream } of open) stream.unit = only!.unit;
    readings.evidence.push(`the unit is ${only!.unit}: no other ${unitReason(by)}`);
    findings.add('unit-inferred', 'note', { unit: only!.unit, by });
    return true;
  }
  findings.add('unit-unknown', 'error', {
    why: 'not-printed',
    channels: CHANNELS.filter((channel) => open.some(({ stream }) => holds(stream.role, channel))),
    choices: choices.map((choice) => ({ ...choice, dailyKwh: dailyKwh(homeOf(open), choice) })),
  });
  return false;
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
function yearOf(
  series: IntervalSeries,
  factor: number,
  serviceKw: number,
  scale: NonNullable<ParseOptions['adjust']>['scale'],
): { kwh: number; tooHigh: boolean } {
  const { stepHours } = series.axis;
  let kwh = 0;
  let tooHigh = false;
  for (const channel of CHANNELS) {
    const values = series[channelField(channel)];
    if (values === undefined) continue;
    const times = factor * (scale?.[channel] ?? 1);
    const mostKwh = serviceKw * stepHours;
    let lowKwh = 0;
    let lows = 0;
    let highKwh = 0;
    let highs = 0;
    for (let i = 0; i < values.length; i++) {
      const value = values[i]! * times;
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
  // A value that counts ten of a unit is judged by what it then is.
  const scale = options.adjust?.scale;
  const fits = (factor: number) => {
    const { kwh, tooHigh } = yearOf(series, factor, serviceKw, scale);
    return kwh >= least && kwh <= HOME_YEAR_KWH.most && !tooHigh;
  };
  if (fits(1) || isBilled(series, options) || isIdleRegister(series)) return;
  const stepMs = series.axis.stepHours * HOUR_MS;
  const days = (series.axis.intervals * series.axis.stepHours) / 24;
  const yearKwh = (factor: number) => yearOf(series, factor, serviceKw, scale).kwh;
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

/** Whether all that a file holds is 0, of registers of what the home takes: those may count nothing, and 0 is 0 in any unit. */
function isIdleRegister({ importKwh, exportKwh, loadKwh, solarKwh, parts = [] }: IntervalSeries): boolean {
  const isNamed = (role: Channel) => parts.some(({ channel }) => channel === role);
  if ((importKwh !== undefined && !isNamed('import')) || (loadKwh !== undefined && !isNamed('load'))) return false;
  return ![importKwh, exportKwh, loadKwh, solarKwh].some((kwh) => kwh?.some((value) => value > 0));
}

/** Whether what was read as bought is what was billed. */
export function isBilled({ importKwh }: IntervalSeries, { billedKwh, adjust }: ParseOptions): boolean {
  if (billedKwh === undefined || importKwh === undefined) return false;
  let sum = 0;
  for (const kwh of importKwh) sum += kwh || 0;
  return Math.abs((sum * (adjust?.scale?.import ?? 1)) / billedKwh - 1) < 0.1;
}

/** A price that is believed without being stated, of a kWh in the file's currency. */
const PLAUSIBLE_PRICE = { least: 0.02, most: 1.5 };

/** What a value may count: so many of a unit. */
interface Choice {
  readonly unit: Unit;
  readonly times: number;
}

/** Narrows the units in question by a bill, then by cost. */
function narrow(
  units: readonly Choice[],
  open: readonly Open[],
  readings: Readings,
  options: ParseOptions,
): { choices: readonly Choice[]; by: 'bill' | 'cost' | 'daily-energy' } {
  const { billedKwh, pricePerKwh } = options;
  const bought = open.filter(({ stream }) => stream.role === 'import' || stream.role === 'net');
  if (billedKwh !== undefined && bought.length > 0) {
    const fits = units.filter((unit) => Math.abs(totalKwh(bought, unit) / billedKwh - 1) < 0.1);
    if (fits.length === 1) return { choices: fits, by: 'bill' };
  }
  if (readings.costPerValue !== undefined) {
    const price = (unit: Choice) => readings.costPerValue! / kwhOf(unit, open[0]!.stepMs);
    const fits = units.filter((unit) =>
      pricePerKwh === undefined
        ? price(unit) >= PLAUSIBLE_PRICE.least && price(unit) <= PLAUSIBLE_PRICE.most
        : // The file may print what it cost in cents.
          [1, 100].some((cents) => Math.abs(Math.log(price(unit) / (cents * pricePerKwh))) < Math.log(1.4)),
    );
    if (fits.length === 1) return { choices: fits, by: 'cost' };
  }
  return { choices: units, by: 'daily-energy' };
}

function kwhOf({ unit, times }: Choice, stepMs: number): number {
  return kwhPer(unit, stepMs) * times;
}

function totalKwh(open: readonly Open[], choice: Choice): number {
  let total = 0;
  for (const { stream, stepMs } of open)
    for (const value of stream.values) if (value > 0) total += value * kwhOf(choice, stepMs);
  return total;
}

/**
 * Daily energy of a home, or of its solar, that isn't ruled out, kWh: from a home that buys little beside its sun to a vast one
 * that heats with electricity. Sixty minutes added up come from monitors of whole homes, and are of no vast one. Common
 * practice, no source. More than 120 kWh are ruled out where it needs more power than any service carries.
 */
const POSSIBLE_DAILY_KWH = { least: 0.5, leastOfMinutes: 1, mostOfMinutes: 200, most: 400, vast: 120 };
/**
 * What most homes have, by which a unit is taken that nothing states. A day of 2 kWh is one person who cooks on gas, of 50
 * a large home that heats with electricity; 100 A at 240 V carry 24 kW. Common practice, no source. Rarer homes are asked
 * about: 190 kWh a day were a home of 8, in hundredths of a kWh.
 */
const USUAL = { leastDailyKwh: 2, mostDailyKwh: 50, mostKw: 24 };

/** Units of which the values may be: a meter that counts tenths or hundredths of a kWh prints whole numbers. */
function possibleUnits(open: readonly Open[]): readonly Choice[] {
  const { unitChoices } = open[0]!.stream;
  const units =
    unitChoices ??
    (open.every(({ stepMs }) => stepMs === HOUR_MS)
      ? (['kWh', 'Wh', 'kW-minutes'] as const)
      : (['kWh', 'kW', 'Wh', 'W'] as const));
  const choices: Choice[] = units.map((unit) => ({ unit, times: 1 }));
  if (unitChoices === undefined && open.every(({ stream }) => stream.values.every(isWhole)))
    choices.push({ unit: 'Wh', times: 10 }, { unit: 'Wh', times: 100 });
  const judged = homeOf(open);
  return choices.filter((choice) => {
    const daily = dailyKwh(judged, choice);
    const { least, leastOfMinutes, mostOfMinutes, most, vast } = POSSIBLE_DAILY_KWH;
    if (choice.unit === 'kW-minutes') return daily >= leastOfMinutes && daily <= mostOfMinutes;
    if (daily < least || daily > most) return false;
    return daily <= vast || judged.every((of) => highKw(of, choice) <= SERVICE_KW);
  });
}

/** What a home buys or uses, where the file has it: how much sun it has says nothing of that. */
function homeOf(open: readonly Open[]): readonly Open[] {
  const bought = open.filter(({ stream }) => stream.role !== 'export' && stream.role !== 'solar');
  return bought.length > 0 ? bought : open;
}

function isWhole(value: number): boolean {
  return Number.isNaN(value) || Number.isInteger(value);
}

/** Whether a value counts one of a common unit. Whatever else it may count is taken once it is stated, and offered till then. */
function isPlain({ unit, times }: Choice): boolean {
  return times === 1 && unit !== 'kW-minutes';
}

/** Whether a unit makes of the values what most homes have. Feeds (ESPI) offer what their standard leaves open, and no more. */
function isUsual(open: readonly Open[], choice: Choice): boolean {
  if (open[0]!.stream.unitChoices !== undefined) return true;
  const daily = dailyKwh(open, choice);
  if (daily < USUAL.leastDailyKwh || daily > USUAL.mostDailyKwh) return false;
  return open.every((of) => highKw(of, choice) <= USUAL.mostKw);
}

/** Highest power that a unit makes of readings, kW; of a meter's running total none. */
function highKw({ stream: { values, cumulative }, stepMs }: Open, choice: Choice): number {
  return cumulative ? 0 : (highOf(values) * kwhOf(choice, stepMs)) / (stepMs / HOUR_MS);
}

/** The third highest size: one or two wild readings don't tell of a unit. */
function highOf(values: Float64Array): number {
  const high = [0, 0, 0];
  for (const value of values) {
    const size = Math.abs(value);
    if (!(size > high[0]!)) continue;
    high[0] = size;
    high.sort((a, b) => a - b);
  }
  return high[0]!;
}

/** Whether readings of a role are of a channel: a net is of import and export. */
function holds(role: Stream['role'], channel: Channel): boolean {
  return role === channel || (role === 'net' && (channel === 'import' || channel === 'export'));
}

/** Energy of a mean day of the largest stream, kWh. */
function dailyKwh(open: readonly Open[], choice: Choice): number {
  let most = 0;
  for (const { stream, stepMs } of open) {
    const { values, cumulative } = stream;
    if (cumulative) {
      most = Math.max(most, (rangeOf(values) / values.length) * (DAY_MS / stepMs) * kwhOf(choice, HOUR_MS));
      continue;
    }
    most = Math.max(most, meanSize(values) * (DAY_MS / stepMs) * kwhOf(choice, stepMs));
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
