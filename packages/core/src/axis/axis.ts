import {
  bytes,
  check,
  integers,
  list,
  number,
  oneOf,
  type Rule,
  record,
  report,
  shorts,
  text,
  unlessMadeHere,
} from '../input/door.ts';
import type { Calendar, LocalDay } from './calendar.ts';
import { MAX_INTERVALS, STEP_MINUTES } from './steps.ts';

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

/** What `makeAxis` needs. */
export interface AxisOptions {
  readonly startEpochMs: number;
  readonly stepMinutes: number;
  readonly intervals: number;
  readonly zone: string;
}

/** Instants lie this near to 1970, ms: what a `Date` can hold, less a year for the calendar about it. */
export const MOST_MS = 8.6e15;

const whole = (least: number, most: number) => number({ whole: true, least, most });

const aDay = record<LocalDay>({
  year: whole(-300_000, 300_000),
  month: whole(1, 12),
  dayOfMonth: whole(1, 31),
  weekday: whole(1, 7),
  civilDay: number({ whole: true }),
  firstInterval: whole(0, MAX_INTERVALS),
  intervals: whole(1, MAX_INTERVALS),
});

const aCalendar = record<Calendar>({
  minuteOfDay: shorts({ least: 0, most: 1439 }),
  weekday: bytes({ least: 1, most: 7 }),
  month: bytes({ least: 1, most: 12 }),
  day: integers({ least: 0 }),
  days: list(aDay, { least: 1 }),
});

const axisFields = record<Axis>({
  startEpochMs: whole(-MOST_MS, MOST_MS),
  stepMinutes: oneOf(STEP_MINUTES),
  stepHours: number({ above: 0 }),
  intervals: whole(1, MAX_INTERVALS),
  endEpochMs: whole(-MOST_MS * 2, MOST_MS * 2),
  zone: text,
  calendar: aCalendar,
});

const anyAxis: Rule = unlessMadeHere('axis', (value, path, looking) => {
  const before = looking.issues.length;
  const axis = value as Axis;
  looking.intervals = typeof axis?.intervals === 'number' ? axis.intervals : undefined;
  axisFields(value, path, looking);
  if (looking.issues.length === before && !fitsItself(axis))
    report(looking, path, 'contradiction', 'an axis whose parts don’t fit each other', 'an axis that makeAxis made');
});

/** An axis, as `makeAxis` makes it; every series among the arguments is held to its length. */
export const anAxis: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  anyAxis(value, path, looking);
  looking.intervals = looking.issues.length === before ? (value as Axis).intervals : undefined;
};

/** Whether step, end and days of an axis say the same. */
function fitsItself(axis: Axis): boolean {
  const { startEpochMs, stepMinutes, stepHours, intervals, endEpochMs, calendar } = axis;
  if (stepHours !== stepMinutes / 60 || endEpochMs !== startEpochMs + intervals * stepMinutes * 60_000) return false;
  let next = 0;
  for (const [d, day] of calendar.days.entries()) {
    if (day.firstInterval !== next || next + day.intervals > intervals) return false;
    for (const end = next + day.intervals; next < end; next++) if (calendar.day[next] !== d) return false;
  }
  return next === intervals;
}

/** The index of an interval of the axis among the arguments. */
export const anInterval: Rule = (value, path, looking) =>
  number({ whole: true, least: 0, most: (looking.intervals ?? MAX_INTERVALS) - 1 })(value, path, looking);

/** Start of interval `i`, ms since the epoch: nothing is checked, for loops. */
export function startMsOf(axis: Axis, i: number): number {
  return axis.startEpochMs + i * axis.stepMinutes * 60_000;
}

/** The zone's offset from UTC at interval `i`, minutes east: the calendar knows it, without a look at the zone. */
export function offsetMinutesIn(axis: Axis, i: number): number {
  const { minuteOfDay, day, days } = axis.calendar;
  return days[day[i]!]!.civilDay * 1440 + minuteOfDay[i]! - startMsOf(axis, i) / 60_000;
}

/**
 * Start of interval `i`, ms since the epoch; any whole number goes on past the axis' ends.
 * @throws InputError on anything but an axis and a whole number
 */
export function intervalStartMs(axis: Axis, i: number): number {
  check({ axis, i }, { axis: anAxis, i: whole(-MAX_INTERVALS, 2 * MAX_INTERVALS) });
  return startMsOf(axis, i);
}

/**
 * The interval that holds an instant, or −1 where the axis doesn't.
 * @throws InputError on anything but an axis and a finite number
 */
export function intervalAt(axis: Axis, epochMs: number): number {
  check({ axis, epochMs }, { axis: anAxis, epochMs: number() });
  const i = Math.floor((epochMs - axis.startEpochMs) / (axis.stepMinutes * 60_000));
  return i >= 0 && i < axis.intervals ? i : -1;
}
