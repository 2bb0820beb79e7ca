import { sampleCorrelation } from 'simple-statistics';
import type { FindingList } from './findings.ts';
import type { ParseOptions } from './options.ts';
import type { IntervalSeries } from './series.ts';

/** A stretch of days that is shorter says too little of a shape. */
const LEAST_DAYS = 7;
/** Of the highest hour: an inverter's own draw at night stays below, a home's refrigerator doesn't. */
const NIGHT_SHARE = 0.01;
/** Hours of dark that every date has, up to 60 degrees north or south. */
const LEAST_NIGHT_HOURS = 4;
/** The shortest day of a file of December alone has seven hours at 55 degrees; what is shorter keeps to a clock. */
const MOST_NIGHT_HOURS = 17;
/** How well a day's mean course follows the sun's arc. Shops, pumps and offices keep to a clock: flat, with steep sides. */
const LEAST_LIKENESS = 0.97;
/** A cabin and a shop have days without anything; the sun has them under snow alone. */
const LEAST_DAYS_SHARE = 0.75;
/** Of the mean of all, what the days of one weekday hold at least: a shop is closed on some, the sun is not. */
const LEAST_WEEKDAY_SHARE = 0.2;

/** A channel that is nothing at night, as no home is. */
export interface NoNight {
  /** Whether it follows the sun's arc by day, on weekdays all alike. */
  readonly arc: boolean;
  /** Hours of the day in which there is never anything to speak of. */
  readonly nightHours: number;
  /** Of the days, those that hold energy, 0 … 1. */
  readonly daysShare: number;
}

/**
 * Whether a channel is nothing at night on any date, and whether it has the shape of solar besides: by day the sun's arc, on
 * nearly all days alike. No clock is presumed: the night is the longest run of hours without energy.
 */
export function noNightOf({ axis }: Pick<IntervalSeries, 'axis'>, values: Float64Array): NoNight | undefined {
  const { calendar, stepHours } = axis;
  const days = calendar.days.length;
  if (days < LEAST_DAYS) return undefined;
  const sums = new Float64Array(24);
  const counts = new Float64Array(24);
  const ofDay = new Float64Array(days);
  const known = new Uint8Array(days);
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!;
    if (Number.isNaN(value)) continue;
    const hour = Math.floor(calendar.minuteOfDay[i]! / 60);
    sums[hour]! += value;
    counts[hour]! += stepHours;
    ofDay[calendar.day[i]!]! += value;
    known[calendar.day[i]!] = 1;
  }
  const means = sums.map((sum, hour) => (counts[hour]! > 0 ? sum / counts[hour]! : Number.NaN));
  const most = Math.max(...means);
  // An hour without any reading tells nothing of the night.
  if (!(most > 0)) return undefined;
  const night = longestNight(means, NIGHT_SHARE * most);
  if (night.hours < LEAST_NIGHT_HOURS) return undefined;
  let knownDays = 0;
  let withEnergy = 0;
  const ofWeekday = new Float64Array(7);
  for (let d = 0; d < days; d++) {
    knownDays += known[d]!;
    if (ofDay[d]! > 0) withEnergy++;
    ofWeekday[calendar.days[d]!.weekday % 7]! += ofDay[d]!;
  }
  const daysShare = withEnergy / knownDays;
  if (daysShare < LEAST_DAYS_SHARE) return undefined;
  const closed =
    days >= 21 && Math.min(...ofWeekday) < (LEAST_WEEKDAY_SHARE / 7) * ofWeekday.reduce((sum, kwh) => sum + kwh, 0);
  // From the end of the night on, round the clock.
  const course = Array.from({ length: 24 }, (_, k) => means[(night.end + k) % 24]!);
  const arc = !closed && night.hours <= MOST_NIGHT_HOURS && likeness(course, 24 - night.hours) >= LEAST_LIKENESS;
  // A home whose sun carries its days, and whose car fills at night, has hours of nothing too: by day.
  if (!arc && means.slice(0, 5).some((kwh) => kwh > NIGHT_SHARE * most)) return undefined;
  return { arc, nightHours: night.hours, daysShare };
}

/** The longest run of hours round the clock of which none is above a limit, and the hour after it. */
function longestNight(means: Float64Array, limit: number): { hours: number; end: number } {
  let best = { hours: 0, end: 0 };
  let run = 0;
  for (let k = 0; k < 48; k++) {
    run = means[k % 24]! <= limit ? run + 1 : 0;
    if (run > best.hours && run <= 24) best = { hours: run, end: (k + 1) % 24 };
  }
  return best;
}

/**
 * How well the hours of day follow an arc of the sun: the highest correlation with `sin^p` over them, for arcs that are
 * pointed (a year's mean, haze, a slope) and round.
 */
function likeness(course: readonly number[], dayHours: number): number {
  let best = 0;
  for (let power = 1; power <= 4; power += 0.5)
    for (let early = -1; early <= 1; early += 0.5) {
      const arc = course.map((_, k) => {
        const at = (k + 0.5 + early) / dayHours;
        return at > 0 && at < 1 ? Math.sin(Math.PI * at) ** power : 0;
      });
      best = Math.max(best, sampleCorrelation(course as number[], arc));
    }
  return best;
}

/**
 * Asks who is meant where all that a file holds has the shape of solar and is read as what the home drew. Where the user
 * said so it is taken, with a warning.
 */
export function questionSolarShape(
  series: IntervalSeries,
  { channel, columns, rows }: ParseOptions,
  findings: FindingList,
): void {
  const { importKwh, exportKwh, loadKwh, solarKwh } = series;
  const drawn = importKwh ?? loadKwh;
  if (drawn === undefined || (importKwh !== undefined && loadKwh !== undefined)) return;
  if (holdsEnergy(exportKwh) || holdsEnergy(solarKwh)) return;
  const noNight = noNightOf(series, drawn);
  if (noNight === undefined) return;
  const role = importKwh === undefined ? 'load' : 'import';
  const stated =
    channel !== undefined || columns?.[role] !== undefined || columns?.net !== undefined || rows !== undefined;
  const { arc, nightHours, daysShare } = noNight;
  if (arc) findings.add('solar-shaped', stated ? 'warning' : 'error', { role, stated, nightHours, daysShare });
  else if (!stated && !findings.has('part-alone'))
    findings.add('nothing-at-night', 'warning', { role, nightHours, daysShare });
}

function holdsEnergy(values: Float64Array | undefined): boolean {
  return values?.some((kwh) => kwh > 0) === true;
}
