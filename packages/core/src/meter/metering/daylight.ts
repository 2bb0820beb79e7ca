import { startMsOf } from '../../axis/inside.ts';
import { MINUTE_MS } from '../durations.ts';
import type { IntervalSeries } from '../series.ts';
import type { MeteringContext } from './fault.ts';
import { type SolarDay, solarDay } from './sun.ts';

/** The sun's day for each local date of the axis; undefined without a place. */
export function sunDays(series: Pick<IntervalSeries, 'axis'>, context: MeteringContext): SolarDay[] | undefined {
  const { latitudeDeg, longitudeDeg } = context;
  if (latitudeDeg === undefined || longitudeDeg === undefined) return undefined;
  return series.axis.calendar.days.map((day) => solarDay(day.civilDay, latitudeDeg, longitudeDeg));
}

/** 1 where the sun is surely down: 90 minutes past set and before rise, or between 23:00 and 03:00 without a place. */
export function darkIntervals(series: Pick<IntervalSeries, 'axis'>, days: readonly SolarDay[] | undefined): Uint8Array {
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
