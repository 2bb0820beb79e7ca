import { InputError } from '../input/issue.ts';
import { showValue } from '../input/quote.ts';
import { type Calendar, makeCalendar } from './calendar.ts';
import { isZone } from './zone.ts';

/** Steps an axis may have, in minutes: those that divide an hour and that meters use. */
export const STEP_MINUTES = [5, 10, 15, 20, 30, 60] as const;

/**
 * A uniform run of UTC instants with a step and a zone. Interval `i` covers
 * `[startEpochMs + i·step, startEpochMs + (i + 1)·step)`. Everything that Duskbank computes is a
 * `Float64Array` as long as the axis; nobody handles dates after this.
 */
export interface Axis {
  /** Start of the first interval, integer ms since 1970-01-01 UTC. */
  readonly startEpochMs: number;
  /** One of {@link STEP_MINUTES}. */
  readonly stepMinutes: number;
  /** `stepMinutes / 60`: turns mean kW into kWh. */
  readonly stepHours: number;
  /** Number of intervals. */
  readonly intervals: number;
  /** End of the last interval, ms since the epoch. */
  readonly endEpochMs: number;
  /** IANA zone whose clock the tariff follows. */
  readonly zone: string;
  /** The zone's local calendar, one entry an interval. */
  readonly calendar: Calendar;
}

/** What {@link makeAxis} needs. */
export interface AxisOptions {
  readonly startEpochMs: number;
  readonly stepMinutes: number;
  readonly intervals: number;
  readonly zone: string;
}

/** More than fifty years of 5-minute steps: beyond this the input is a mistake. */
const MAX_INTERVALS = 6_000_000;

/**
 * Builds an axis and computes its local calendar once.
 *
 * The axis' phase is free (zones at +5:30 and meters that start at 00:10 keep theirs); the instants
 * need only be whole minutes.
 *
 * @throws InputError `unknown-zone` | `out-of-range`
 * @example makeAxis({ startEpochMs: Date.UTC(2026, 0, 1), stepMinutes: 15, intervals: 96, zone: 'Etc/UTC' })
 */
export function makeAxis(options: AxisOptions): Axis {
  const { startEpochMs, stepMinutes, intervals, zone } = options;
  if (!isZone(zone))
    throw new InputError([
      {
        code: 'unknown-zone',
        where: { path: ['zone'] },
        received: showValue(zone),
        expected: 'an IANA time zone such as "America/Denver"',
        hint: 'an offset such as "UTC-7" has no clock changes and no history: name the zone instead',
      },
    ]);
  if (!(STEP_MINUTES as readonly number[]).includes(stepMinutes))
    throw new InputError([
      {
        code: 'out-of-range',
        where: { path: ['stepMinutes'] },
        received: String(stepMinutes),
        expected: `one of ${STEP_MINUTES.join(', ')}`,
      },
    ]);
  if (!Number.isInteger(intervals) || intervals < 1 || intervals > MAX_INTERVALS)
    throw new InputError([
      {
        code: 'out-of-range',
        where: { path: ['intervals'] },
        received: String(intervals),
        expected: `a whole number from 1 to ${MAX_INTERVALS}`,
      },
    ]);
  if (!Number.isInteger(startEpochMs) || startEpochMs % 60_000 !== 0)
    throw new InputError([
      {
        code: 'out-of-range',
        where: { path: ['startEpochMs'] },
        received: String(startEpochMs),
        expected: 'a whole minute, in ms since 1970-01-01 UTC',
      },
    ]);
  const stepMs = stepMinutes * 60_000;
  return {
    startEpochMs,
    stepMinutes,
    stepHours: stepMinutes / 60,
    intervals,
    endEpochMs: startEpochMs + intervals * stepMs,
    zone,
    calendar: makeCalendar(startEpochMs, stepMs, intervals, zone),
  };
}

/** Start of interval `i`, ms since the epoch. */
export function intervalStartMs(axis: Axis, i: number): number {
  return axis.startEpochMs + i * axis.stepMinutes * 60_000;
}

/** The interval that holds an instant, or −1 where the axis doesn't. */
export function intervalAt(axis: Axis, epochMs: number): number {
  const i = Math.floor((epochMs - axis.startEpochMs) / (axis.stepMinutes * 60_000));
  return i >= 0 && i < axis.intervals ? i : -1;
}
