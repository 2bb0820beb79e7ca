import type { Axis } from '../../axis/index.ts';
import { anAxis } from '../../axis/inside.ts';
import { callable, check, number, record, series, seriesUnread, text } from '../../input/door.ts';
import { copyDay, lastDays, likeDays } from './like-days.ts';

/** A forecast of a day's intervals from the days before it, kWh an interval. */
export interface Forecaster {
  readonly name: string;
  /** Only `values` of days before `day` may be read; `day` ≥ 1. */
  forecast(axis: Axis, values: Float64Array, day: number): Float64Array;
}

/** Days that a blend looks at, and how much each older one counts of the one after it. */
const BLEND_DAYS = 7;
const FADING = 0.8;
/** What the same season a year ago counts, where it is known. */
const LAST_YEAR = 0.3;
const ENVELOPE_DAYS = 14;

/** @throws InputError on values of another length, and days that have none before them */
function checkForecast(axis: Axis, values: Float64Array, day: number): void {
  check({ axis, values }, { axis: anAxis, values: seriesUnread });
  check({ day }, { day: number({ whole: true, least: 1, most: axis.calendar.days.length - 1 }) });
  const past = values.subarray(0, axis.calendar.days[day]!.firstInterval);
  check({ past }, { past: series({ length: null }) });
}

function blend(
  axis: Axis,
  values: Float64Array,
  day: number,
  parts: readonly (readonly [number, number])[],
): Float64Array {
  const { firstInterval, intervals } = axis.calendar.days[day]!;
  const out = new Float64Array(intervals);
  const part = new Float64Array(intervals);
  let total = 0;
  for (const [, weight] of parts) total += weight;
  for (const [source, weight] of parts) {
    copyDay(axis, source, day, firstInterval, firstInterval + intervals, values, part, 0);
    for (let i = 0; i < intervals; i++) out[i] = out[i]! + (weight / total) * part[i]!;
  }
  return out;
}

/** The day before. */
export const persistence: Forecaster = {
  name: 'persistence',
  forecast(axis, values, day) {
    checkForecast(axis, values, day);
    return blend(axis, values, day, [[day - 1, 1]]);
  },
};

/** The same weekday a week ago; the day before where there is none. */
export const sameWeekday: Forecaster = {
  name: 'same weekday',
  forecast(axis, values, day) {
    checkForecast(axis, values, day);
    return blend(axis, values, day, [[day >= 7 ? day - 7 : day - 1, 1]]);
  },
};

/** Like days, the recent counting more; with a year of past, the same season's days of a year ago among them. */
export const likeDayBlend: Forecaster = {
  name: 'like days',
  forecast(axis, values, day) {
    checkForecast(axis, values, day);
    const parts: [number, number][] = likeDays(axis, day, day, BLEND_DAYS).map((d, k) => [d, FADING ** k]);
    const yearAgo = day - 364;
    if (yearAgo >= 3) for (let d = yearAgo - 3; d <= yearAgo + 3; d++) parts.push([d, LAST_YEAR / 7]);
    return blend(axis, values, day, parts);
  },
};

/**
 * The value that a share of the last like days stayed under, interval by interval.
 * @throws InputError on a share outside of 0 … 1, and counts that are not whole and from 1 to 1,000
 */
export function likeDayQuantile(share: number, count = 14): Forecaster {
  check(
    { share, count },
    { share: number({ least: 0, most: 1 }), count: number({ whole: true, least: 1, most: 1000 }) },
  );
  return {
    name: `like days, ${Math.round(share * 100)} %`,
    forecast(axis, values, day) {
      checkForecast(axis, values, day);
      const { firstInterval, intervals } = axis.calendar.days[day]!;
      const days = likeDays(axis, day, day, count);
      const rows = days.map((source) => {
        const row = new Float64Array(intervals);
        copyDay(axis, source, day, firstInterval, firstInterval + intervals, values, row, 0);
        return row;
      });
      const sorted = new Float64Array(rows.length);
      return Float64Array.from({ length: intervals }, (_, i) => {
        for (let r = 0; r < rows.length; r++) sorted[r] = rows[r]![i]!;
        sorted.sort();
        const at = share * (sorted.length - 1);
        const low = Math.floor(at);
        const high = Math.min(sorted.length - 1, low + 1);
        return sorted[low]! + (at - low) * (sorted[high]! - sorted[low]!);
      });
    },
  };
}

/**
 * Solar: the highest of the last two weeks at each time of day stands for a clear sky, scaled by how clear yesterday
 * was and, as much again, how clear the two weeks were.
 */
export const clearSkyScaled: Forecaster = {
  name: 'clear sky, scaled',
  forecast(axis, values, day) {
    checkForecast(axis, values, day);
    const { firstInterval, intervals } = axis.calendar.days[day]!;
    const days = lastDays(day, ENVELOPE_DAYS);
    const clear = new Float64Array(intervals);
    const row = new Float64Array(intervals);
    const totals: number[] = [];
    for (const source of days) {
      copyDay(axis, source, day, firstInterval, firstInterval + intervals, values, row, 0);
      let total = 0;
      for (let i = 0; i < intervals; i++) {
        total += row[i]!;
        if (row[i]! > clear[i]!) clear[i] = row[i]!;
      }
      totals.push(total);
    }
    const most = clear.reduce((sum, kwh) => sum + kwh, 0);
    if (most === 0) return clear;
    const mean = totals.reduce((sum, kwh) => sum + kwh, 0) / totals.length;
    const clearness = (0.5 * (totals[0]! + mean)) / most;
    return clear.map((kwh) => kwh * clearness);
  },
};

/** How far a forecast was off, kWh an interval. */
export interface ForecastScore {
  readonly name: string;
  /** Mean absolute error. */
  readonly mae: number;
  /** Mean of forecast less truth. */
  readonly bias: number;
  /** Pinball loss at `share`: `share` of the lack, `1 − share` of the excess. */
  readonly pinball: number;
  readonly days: number;
}

/**
 * Scores a forecast against what came, over every day but the first: each day from the days before it alone.
 * @throws InputError on values that are not finite, and a forecast of another length than its day
 */
export function scoreForecast(axis: Axis, values: Float64Array, forecaster: Forecaster, share = 0.5): ForecastScore {
  check(
    { axis, values, forecaster, share },
    {
      axis: anAxis,
      values: series(),
      forecaster: record<Forecaster>({ name: text, forecast: callable }),
      share: number({ least: 0, most: 1 }),
    },
  );
  const { days } = axis.calendar;
  let absolute = 0;
  let bias = 0;
  let pinball = 0;
  let count = 0;
  for (let day = 1; day < days.length; day++) {
    const { firstInterval, intervals } = days[day]!;
    const guess = forecaster.forecast(axis, values, day);
    check({ forecast: guess }, { forecast: series() }, intervals);
    for (let i = 0; i < intervals; i++) {
      const lack = values[firstInterval + i]! - guess[i]!;
      absolute += Math.abs(lack);
      bias -= lack;
      pinball += lack > 0 ? share * lack : (share - 1) * lack;
      count++;
    }
  }
  const mean = (sum: number) => (count > 0 ? sum / count : 0);
  return {
    name: forecaster.name,
    mae: mean(absolute),
    bias: mean(bias),
    pinball: mean(pinball),
    days: days.length - 1,
  };
}
