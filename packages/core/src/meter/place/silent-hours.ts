import type { Axis } from '../../axis/index.ts';
import { clockOf } from '../../words/figures.ts';
import { dateAt } from '../span.ts';

/** A register may be alone in a part of the year only: so long a stretch is looked at by itself, a week on from the one before. */
const STRETCH_DAYS = 28;
const STRIDE_DAYS = 7;
/** Fewer days of a home that the sun carries may all be fair. */
const FEWEST_DAYS = 14;
/** Readings of such a stretch that tell nothing else, hours. */
const ENOUGH_HOURS = 7 * 24;
/** Of the days of a kind, those on which an hour may be other than on the rest: holidays. */
const OTHER_DAYS = 0.1;
/** Of all readings, those of hours that are silent on some days and not on others: about the sun or a battery there are more. */
const MOST_BETWEEN = 0.02;
/** Of all readings, an hour a day. */
const LEAST_SHARE = 1 / 24;
/** Kinds of days that a register tells apart. */
const KINDS = ['Mon–Fri', 'Sat', 'Sun'] as const;

/** Hours of the week in which nothing counts, while in all others something does. */
export interface SilentHours {
  /** The stretch that shows it, local dates, both included. */
  readonly first: string;
  readonly last: string;
  /** The longest run of silent hours of a day, and the kind of day it is of. */
  readonly on: (typeof KINDS)[number];
  /** Local times; `24:00` where they last to midnight. */
  readonly from: string;
  readonly to: string;
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
  const { days } = axis.calendar;
  for (let first = 0; first === 0 || first + STRETCH_DAYS <= days.length; first += STRIDE_DAYS) {
    const stretch = days.slice(first, first + STRETCH_DAYS);
    const last = stretch.at(-1)!;
    if (stretch.length < FEWEST_DAYS) return undefined;
    const end = last.firstInterval + last.intervals;
    const run = longestSilent(axis, kwh, stretch[0]!.firstInterval, end, spared);
    if (run !== undefined)
      return { first: dateAt(axis, stretch[0]!.firstInterval), last: dateAt(axis, last.firstInterval), ...run };
  }
  return undefined;
}

/** The longest silent run of a day in a stretch of intervals whose hours are all either silent or not. */
function longestSilent(
  { calendar, stepMinutes, stepHours }: Axis,
  kwh: Float64Array,
  begin: number,
  end: number,
  spared: (i: number) => boolean,
): Pick<SilentHours, 'on' | 'from' | 'to'> | undefined {
  const slots = Math.ceil((24 * 60) / stepMinutes);
  const known = new Float64Array(KINDS.length * slots);
  const nothing = new Float64Array(KINDS.length * slots);
  for (let i = begin; i < end; i++) {
    if (Number.isNaN(kwh[i]!) || spared(i)) continue;
    const cell = Math.max(0, calendar.weekday[i]! - 5) * slots + Math.floor(calendar.minuteOfDay[i]! / stepMinutes);
    known[cell]!++;
    if (kwh[i] === 0) nothing[cell]!++;
  }
  let [all, silent, between] = [0, 0, 0];
  let best = { length: 0, cell: 0 };
  let run = 0;
  for (let cell = 0; cell < known.length; cell++) {
    if (cell % slots === 0) run = 0;
    const share = nothing[cell]! / known[cell]!;
    all += known[cell]!;
    if (share >= 1 - OTHER_DAYS) {
      silent += known[cell]!;
      run++;
      if (run > best.length) best = { length: run, cell };
    } else {
      if (share > OTHER_DAYS) between += known[cell]!;
      run = 0;
    }
  }
  if (all * stepHours < ENOUGH_HOURS) return undefined;
  if (between > MOST_BETWEEN * all || silent < LEAST_SHARE * all || all - silent - between < LEAST_SHARE * all)
    return undefined;
  const slot = (best.cell % slots) + 1;
  return {
    on: KINDS[Math.floor(best.cell / slots)]!,
    from: clockOf((slot - best.length) * stepMinutes),
    to: clockOf(slot * stepMinutes),
  };
}
