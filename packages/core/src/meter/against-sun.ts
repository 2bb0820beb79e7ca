import { startMsOf } from '../axis/inside.ts';
import { HOUR_MS, MINUTE_MS } from './durations.ts';
import type { SolarDay } from './metering/sun.ts';
import type { IntervalSeries } from './series.ts';
import { noNightOf } from './solar-shape.ts';

/** Of a register of what is sold, at most so much outside of the sun's hours: clouds, a clock that is a step off. */
const MOST_OUTSIDE = 0.02;
/** Of what a home draws at least so much: a school that keeps to the day has more, and the largest battery leaves dull days. */
const LEAST_OUTSIDE = 0.07;
/** The same between midnight and sunrise, where a battery that sells all evening has done so. */
const MOST_BEFORE_SUN = 0.01;
const LEAST_BEFORE_SUN = 0.05;
/** Less may be a battery's that answers late. */
const LEAST_KWH = 2;
/** Fewer days may be a battery's that was emptied into the grid. */
const FEWEST_DAYS = 7;
/** Local hours of the sun where no place is known. */
const SUN = { rise: 6, set: 20 };

/** What a channel holds by where the sun stands, kWh. */
interface Course {
  all: number;
  outside: number;
  beforeSun: number;
}

/** Days that show that what is stated as bought follows the sun, and what is stated as sold doesn't. */
interface AgainstSun {
  /** Civil days on which something is sold without sun. */
  readonly days: readonly number[];
  /** Sold outside of the sun's hours on them. */
  readonly darkKwh: number;
}

/**
 * Whether what is stated as bought keeps to the hours of the sun, and what is stated as sold doesn't. A battery changes what a home
 * buys in the evening and at night and may sell in the evening: it makes no roof give without sun, and no home draw by its course alone.
 *
 * @param suns the sun's day for each local date; undefined without a place: then by the hours of the clock
 */
export function againstSun(
  { axis }: Pick<IntervalSeries, 'axis'>,
  importKwh: Float64Array,
  exportKwh: Float64Array,
  suns: readonly SolarDay[] | undefined,
): AgainstSun | undefined {
  const { calendar, stepMinutes, stepHours, intervals } = axis;
  const bought: Course = { all: 0, outside: 0, beforeSun: 0 };
  const sold: Course = { all: 0, outside: 0, beforeSun: 0 };
  const outsideKwh = new Float64Array(calendar.days.length);
  for (let i = 0; i < intervals; i++) {
    const [inKwh, outKwh] = [importKwh[i]!, exportKwh[i]!];
    if (Number.isNaN(inKwh + outKwh)) continue;
    const hour = calendar.minuteOfDay[i]! / 60 + stepHours / 2;
    const sun = suns?.[calendar.day[i]!];
    // Where it doesn't rise or set, its hours say nothing.
    if (sun !== undefined && Number.isNaN(sun.sunriseMs)) continue;
    const hourOf = (ms: number) => hour + (ms - startMsOf(axis, i) - (stepMinutes * MINUTE_MS) / 2) / HOUR_MS;
    const { rise, set } = sun === undefined ? SUN : { rise: hourOf(sun.sunriseMs), set: hourOf(sun.sunsetMs) };
    const isOutside = hour < rise || hour > set;
    bought.all += inKwh;
    sold.all += outKwh;
    if (!isOutside) continue;
    bought.outside += inKwh;
    sold.outside += outKwh;
    outsideKwh[calendar.day[i]!]! += outKwh;
    if (hour > rise) continue;
    bought.beforeSun += inKwh;
    sold.beforeSun += outKwh;
  }
  if (!(bought.all > 0 && sold.outside > 0)) return undefined;
  const share = ({ all }: Course, kwh: number) => kwh / all;
  const keeps = share(bought, bought.outside) <= MOST_OUTSIDE && share(sold, sold.outside) >= LEAST_OUTSIDE;
  const keepsNights =
    share(bought, bought.beforeSun) <= MOST_BEFORE_SUN && share(sold, sold.beforeSun) >= LEAST_BEFORE_SUN;
  if (!keeps && !keepsNights) return undefined;
  const days = calendar.days.flatMap(({ civilDay }, d) => (outsideKwh[d]! > 0 ? [civilDay] : []));
  // No home draws by the arc of the sun: then little that is sold without it suffices.
  if ((days.length < FEWEST_DAYS || sold.outside < LEAST_KWH) && noNightOf({ axis }, importKwh)?.arc !== true)
    return undefined;
  return { days, darkKwh: sold.outside };
}
