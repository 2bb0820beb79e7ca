import type { Axis } from '../../axis/index.ts';
import { clockOf } from '../../words/figures.ts';
import { dateAt } from '../span.ts';

type AxisDay = Axis['calendar']['days'][number];

/** A register may be alone in a part of the year only: so long a stretch is looked at by itself, a week on from the one before. */
const STRETCH_DAYS = 28;
const STRIDE_DAYS = 7;
/** Fewer days of a home that the sun carries may all be fair. */
const FEWEST_DAYS = 14;
/** No sun carries a home after midnight, and no battery on all days alike: a week shows each kind of day once at least. */
const FEWEST_DARK_DAYS = 7;
/** Of each weekday by itself there have to be some. */
const FEWEST_WEEKS = 3;
/** Readings of such a stretch that tell nothing else, hours. */
const ENOUGH_HOURS = 6 * 24;
/** So many days in a row on which nothing counts at all are nobody at home, no register's hours. */
const AWAY_DAYS = 7;
/** Of the days of a kind, those on which an hour may be other than on the rest: holidays. */
const OTHER_DAYS = 0.1;
/** Of all readings, those of hours that are silent on some days and not on others: about the sun or a battery there are more. */
const MOST_BETWEEN = 0.02;
/** The same where hours after midnight are silent: a switch of prices may wander by an hour at either end. */
const MOST_BETWEEN_DARK = 1 / 6;
/** Local hours before which it is night, and so many of a day's that are silent. */
const NIGHT_TO = 5;
const LEAST_DARK_HOURS = 2;
/** Of all readings, an hour a day. */
const LEAST_SHARE = 1 / 24;
/** Kinds of days that a register tells apart. */
const KINDS = ['Mon–Fri', 'Sat', 'Sun'] as const;
const WEEKDAYS = ['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun'] as const;

/** Hours of the week in which nothing counts, while in all others something does. */
export interface SilentHours {
  /** The stretch that shows it, local dates, both included. */
  readonly first: string;
  readonly last: string;
  /** The longest run of silent hours of a day, and the kind of day it is of. */
  readonly on: (typeof KINDS | typeof WEEKDAYS)[number];
  /** Local times; `24:00` where they last to midnight. */
  readonly from: string;
  readonly to: string;
  /** Hours beside them are silent on some days and not on others: a switch of prices is sharp, the sun is not. */
  readonly isRagged?: true;
}

/**
 * The hours of a week in which a channel is exactly nothing, on all days but a few, while in the others it never is: a register of
 * price windows, not a home. What the sun or a battery spares changes from day to day, and a coarse meter's zeros stand at any hour.
 *
 * @param spared where what is sold or made tells why nothing is bought
 * @returns of the first stretch of weeks that has such hours
 */
export function silentHours(
  axis: Axis,
  kwh: Float64Array,
  spared: (i: number) => boolean = () => false,
): SilentHours | undefined {
  // Of most homes no interval is exactly nothing.
  if (!kwh.includes(0)) return undefined;
  const { days } = axis.calendar;
  // What a home draws at night is less than half a kWh: in whole ones it is nothing on all days.
  if (kwh.every((value) => Number.isNaN(value) || Number.isInteger(value))) return undefined;
  for (let first = 0; first === 0 || first + STRETCH_DAYS <= days.length; first += STRIDE_DAYS) {
    const stretch = days.slice(first, first + STRETCH_DAYS);
    const last = stretch.at(-1)!;
    const present = withoutAway(stretch, kwh);
    const run =
      longestSilent(axis, kwh, present, KINDS, spared) ??
      (present.length < 7 * FEWEST_WEEKS ? undefined : longestSilent(axis, kwh, present, WEEKDAYS, spared));
    if (run !== undefined)
      return { first: dateAt(axis, stretch[0]!.firstInterval), last: dateAt(axis, last.firstInterval), ...run };
  }
  return undefined;
}

/** Days of a stretch, without those of weeks on which nothing counts at all. */
function withoutAway(stretch: readonly AxisDay[], kwh: Float64Array): readonly AxisDay[] {
  const isNothing = stretch.map(({ firstInterval, intervals }) =>
    kwh.subarray(firstInterval, firstInterval + intervals).every((value) => value === 0),
  );
  return stretch.filter((_, d) => {
    let [from, to] = [d, d];
    while (isNothing[from] === true) from--;
    while (isNothing[to] === true) to++;
    return !(to - from > AWAY_DAYS);
  });
}

/** The longest silent run of a day in a stretch of days whose hours are all either silent or not. */
function longestSilent(
  { calendar, stepMinutes, stepHours }: Axis,
  kwh: Float64Array,
  days: readonly AxisDay[],
  kinds: typeof KINDS | typeof WEEKDAYS,
  spared: (i: number) => boolean,
): Pick<SilentHours, 'on' | 'from' | 'to' | 'isRagged'> | undefined {
  const slots = Math.ceil((24 * 60) / stepMinutes);
  const known = new Float64Array(kinds.length * slots);
  const nothing = new Float64Array(kinds.length * slots);
  for (const { firstInterval, intervals } of days)
    for (let i = firstInterval; i < firstInterval + intervals; i++) {
      if (Number.isNaN(kwh[i]!) || spared(i)) continue;
      const kind = Math.max(0, calendar.weekday[i]! - 8 + kinds.length);
      const cell = kind * slots + Math.floor(calendar.minuteOfDay[i]! / stepMinutes);
      known[cell]!++;
      if (kwh[i] === 0) nothing[cell]!++;
    }
  let [all, silent, between, night] = [0, 0, 0, 0];
  let best = { length: 0, cell: 0 };
  let run = 0;
  for (let cell = 0; cell < known.length; cell++) {
    if (cell % slots === 0) run = 0;
    const share = nothing[cell]! / known[cell]!;
    all += known[cell]!;
    if (share >= 1 - OTHER_DAYS) {
      silent += known[cell]!;
      if ((cell % slots) * stepMinutes < NIGHT_TO * 60) night += known[cell]!;
      run++;
      if (run > best.length) best = { length: run, cell };
    } else {
      if (share > OTHER_DAYS) between += known[cell]!;
      run = 0;
    }
  }
  if (all * stepHours < ENOUGH_HOURS) return undefined;
  const isDark = night * stepHours >= LEAST_DARK_HOURS * days.length;
  if (!isDark && kinds === WEEKDAYS) return undefined;
  if (days.length < (isDark ? FEWEST_DARK_DAYS : FEWEST_DAYS)) return undefined;
  if (between > (isDark ? MOST_BETWEEN_DARK : MOST_BETWEEN) * all) return undefined;
  const counting = all - silent - between;
  if (silent < LEAST_SHARE * all || counting < LEAST_SHARE * all) return undefined;
  // A battery that carries most of a week leaves few hours in which it never does.
  if (between > MOST_BETWEEN * all && counting < 2 * between) return undefined;
  const slot = (best.cell % slots) + 1;
  return {
    on: kinds[Math.floor(best.cell / slots)]!,
    from: clockOf((slot - best.length) * stepMinutes),
    to: clockOf(slot * stepMinutes),
    ...(between > MOST_BETWEEN * all ? { isRagged: true as const } : {}),
  };
}
