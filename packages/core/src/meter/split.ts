import { type Axis, makeAxis } from '../axis/index.ts';
import { CHANNELS, channelField, type IntervalSeries } from './series.ts';

/** An axis of the same span in shorter steps. `stepMinutes` divides its own step. */
export function splitAxis({ startEpochMs, stepMinutes: own, intervals, zone }: Axis, stepMinutes: number): Axis {
  return makeAxis({ startEpochMs, stepMinutes, intervals: (intervals * own) / stepMinutes, zone });
}

/** Energy of an axis in steps of which each is `parts` shorter ones: spread evenly. */
export function spreadEvenly(kwh: Float64Array, parts: number): Float64Array {
  return Float64Array.from({ length: kwh.length * parts }, (_, i) => kwh[Math.floor(i / parts)]! / parts);
}

/**
 * A series in shorter steps, the energy of each of its own spread evenly. What it is added up from is left out: only files that
 * are joined ask for that. `stepMinutes` divides its own step.
 */
export function splitSteps(series: IntervalSeries, stepMinutes: number): IntervalSeries {
  const parts = Math.round(series.axis.stepMinutes / stepMinutes);
  const split: { -readonly [K in keyof IntervalSeries]: IntervalSeries[K] } = {
    axis: splitAxis(series.axis, stepMinutes),
  };
  for (const channel of CHANNELS) {
    const kwh = series[channelField(channel)];
    if (kwh !== undefined) split[channelField(channel)] = spreadEvenly(kwh, parts);
  }
  const { estimated } = series;
  if (estimated !== undefined)
    split.estimated = Uint8Array.from(
      { length: estimated.length * parts },
      (_, i) => estimated[Math.floor(i / parts)]!,
    );
  return split;
}
