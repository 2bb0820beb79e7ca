import type { FindingList } from './findings.ts';
import { CHANNELS, type Channel, channelField, type IntervalSeries } from './series.ts';

/** What the service of a home carries at most where nothing is stated, kW: 400 A at 240 V, rounded up. */
export const SERVICE_KW = 100;

/** What a service carries each way, kW. */
export interface ServiceKw {
  /** From the grid. */
  readonly drawKw: number;
  /** To the grid. */
  readonly feedKw: number;
}

/** One figure for both ways, or one each; where nothing is stated, what homes have. */
export function serviceKwOf(stated: number | ServiceKw | undefined): ServiceKw {
  if (typeof stated === 'object') return stated;
  return { drawKw: stated ?? SERVICE_KW, feedKw: stated ?? SERVICE_KW };
}

/** Readings of a channel that no service could carry. */
export interface AboveService {
  readonly channel: Channel;
  /** Intervals, in order. */
  readonly intervals: readonly number[];
  /** Highest mean power over an interval, kW, and that interval. */
  readonly mostKw: number;
  readonly mostAt: number;
  /** What the service carries that way, kW. */
  readonly limitKw: number;
}

/**
 * Readings whose mean power over their interval is above what the service carries: import above `drawKw`, load above it
 * and what solar gave beside, export and solar above `feedKw`.
 */
export function readingsAboveService(series: IntervalSeries, { drawKw, feedKw }: ServiceKw): AboveService[] {
  const { axis, solarKwh } = series;
  const found: AboveService[] = [];
  for (const channel of CHANNELS) {
    const values = series[channelField(channel)];
    if (values === undefined) continue;
    const limitKw = channel === 'import' || channel === 'load' ? drawKw : feedKw;
    // A limit in kW times hours may differ from a printed kWh in its last bit.
    const limitKwh = limitKw * axis.stepHours * (1 + 1e-9);
    const intervals: number[] = [];
    let most = 0;
    let mostAt = -1;
    for (let i = 0; i < values.length; i++) {
      const beside = channel === 'load' && solarKwh !== undefined ? solarKwh[i]! || 0 : 0;
      if (!(values[i]! > limitKwh + beside)) continue;
      intervals.push(i);
      if (values[i]! > most) {
        most = values[i]!;
        mostAt = i;
      }
    }
    if (intervals.length === 0) continue;
    const mostKw = most / axis.stepHours;
    // Beyond any home's power it may be somebody's number in the wrong column, and isn't quoted.
    found.push({ channel, intervals, mostKw: mostKw < 1e6 ? mostKw : Number(mostKw.toPrecision(2)), mostAt, limitKw });
  }
  return found;
}

/** Adds an error finding for each channel with readings that the service could not carry, with their lines. */
export function refuseAboveService(
  series: IntervalSeries,
  service: ServiceKw,
  linesOf: (intervals: readonly number[]) => number[],
  findings: FindingList,
): void {
  for (const { channel, intervals, mostKw, limitKw } of readingsAboveService(series, service))
    findings.add(
      'reading-above-service',
      'error',
      { channel, mostKw, limitKw, often: isOften(intervals.length, series.axis.intervals) },
      { lines: linesOf(intervals.slice(0, 20)), count: intervals.length, key: channel },
    );
}

/** Whether so many readings are above a limit that it is not they that are wrong: more than two, and than a hundredth. */
export function isOften(above: number, readings: number): boolean {
  return above > Math.max(2, readings / 100);
}
