import { quantile, quantileSorted } from 'simple-statistics';
import type { Axis } from '../axis/index.ts';
import { anAxis, anInterval } from '../axis/inside.ts';
import { both, check, number, type Rule, report, series } from '../input/door.ts';
import type { Plant } from '../plant/index.ts';
import { aPlant, deliverableKwh } from '../plant/inside.ts';
import { CAP_HOURS } from './hours.ts';
import { storedIn } from './stored.ts';

/**
 * Percentiles stand at `(n − 1)·p` of the sorted values, interpolated linearly between neighbours (type 7 of Hyndman &
 * Fan, "Sample Quantiles in Statistical Packages", The American Statistician 50 (1996) 361–365).
 */
export interface Percentiles {
  readonly p10: number;
  readonly median: number;
}

/** Hours of backup over many starts. */
export interface BackupSummary {
  /** Over every start on the axis. */
  readonly allHours: Percentiles;
  /** Over starts on Monday to Friday from 17:00 to 21:00 local, when outages hurt and batteries are spent. */
  readonly weekdayEvenings: Percentiles;
  /** The shortest of all once the run has settled, and the interval it starts in (the first of equals). */
  readonly worst: { readonly hours: number; readonly interval: number };
  /** Share of all starts that lasted up to the cap, so that their true hours are only known to be at least that. */
  readonly censoredShare: number;
  /** The cap, h. */
  readonly capHours: number;
}

/**
 * Outages whose lengths differ by no more than this last the same, h: what rounding leaves of sums in another order. Without it
 * the last digit would say which of them is told as the worst.
 */
export const ROUNDING_HOURS = 1e-9;

/** Days in which a battery that starts at its floor comes to the rhythm of the home: a week holds every kind of day. */
const SETTLING_DAYS = 7;

/**
 * First interval whose start may count as the worst. A run begins at the floor, which no day before it has led to: starts
 * of the first week (of a tenth of the data, in whole days, where they are shorter than ten weeks) tell of that, not of
 * the home.
 */
export function settledFrom(axis: Axis): number {
  const perDay = Math.round(24 / axis.stepHours);
  return perDay * Math.min(SETTLING_DAYS, Math.floor(axis.intervals / perDay / 10));
}

/** The least over the starts from {@link settledFrom} on. */
export function leastSettled(axis: Axis, hours: Float64Array): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = settledFrom(axis); i < hours.length; i++) if (hours[i]! < least) least = hours[i]!;
  return least;
}

/**
 * Whether interval `i` starts on Monday to Friday between 17:00 and 21:00 local. Public holidays count as weekdays.
 * @throws InputError where the axis has no such interval
 */
export function isWeekdayEvening(axis: Axis, i: number): boolean {
  check({ axis, i }, { axis: anAxis, i: anInterval });
  return isEvening(axis, i);
}

/** {@link isWeekdayEvening} for loops: nothing is checked. */
export function isEvening(axis: Axis, i: number): boolean {
  const minute = axis.calendar.minuteOfDay[i]!;
  return axis.calendar.weekday[i]! <= 5 && minute >= 17 * 60 && minute < 21 * 60;
}

/** Which intervals {@link isEvening} holds of, 1 each. */
export function eveningStarts(axis: Axis): Uint8Array {
  return Uint8Array.from({ length: axis.intervals }, (_, i) => (isEvening(axis, i) ? 1 : 0));
}

/**
 * Summarises what `backupHours` gives. The median over all hours flatters (batteries are full at noon), so weekday
 * evenings stand beside it. Where the axis has no weekday evening, `weekdayEvenings` repeats all hours.
 *
 * @param capHours the cap that `hours` were counted to, h
 * @throws InputError on hours of another length than the axis, negative, not finite or above the cap
 */
export function summarizeBackup(axis: Axis, hours: Float64Array, capHours = CAP_HOURS): BackupSummary {
  check(
    { axis, hours, capHours },
    { axis: anAxis, hours: series({ least: 0 }), capHours: number({ above: 0, infinite: true }) },
  );
  const n = hours.length;
  const cap = Math.min(capHours, n * axis.stepHours);
  check({ hours }, { hours: series({ most: cap * (1 + 1e-9), length: null }) });
  const evenings = new Float64Array(n);
  let count = 0;
  const settled = settledFrom(axis);
  let worst = settled;
  let censored = 0;
  for (let i = 0; i < n; i++) {
    const h = hours[i]!;
    if (i > settled && h < hours[worst]! - ROUNDING_HOURS) worst = i;
    if (h >= cap) censored++;
    if (isEvening(axis, i)) evenings[count++] = h;
  }
  const allHours = percentiles(hours);
  return {
    allHours,
    weekdayEvenings: count > 0 ? percentiles(evenings.subarray(0, count)) : allHours,
    worst: { hours: hours[worst]!, interval: worst },
    censoredShare: censored / n,
    capHours: cap,
  };
}

/** Stored energy, of any length; a hair under 0 is what rounding leaves of a run. */
const stored = series({ least: -1e-9, length: null });

const notEmpty: Rule = (value, path, looking) => {
  if ((value as Float64Array).length === 0) report(looking, path, 'out-of-range', 0, 'at least 1 entry');
};

/** What a strategy keeps for an outage: energy deliverable to loads, `(soc − shutdown)·ηd`, kWh at AC. */
export interface ReserveSummary {
  readonly minKwh: number;
  readonly p10Kwh: number;
  readonly medianKwh: number;
}

/**
 * Energy deliverable to loads at the end of each interval, kWh at AC.
 * @throws InputError on a plant out of range, and energy that is not finite or above its capacity
 */
export function reserveKwh(plant: Plant, socKwh: Float64Array): Float64Array {
  check({ plant, socKwh }, { plant: aPlant, socKwh: stored });
  check({ socKwh }, { socKwh: storedIn(plant) });
  return socKwh.map((soc) => deliverableKwh(plant, soc));
}

/**
 * The least, the tenth percentile and the median of {@link reserveKwh}.
 * @throws InputError on a plant out of range, and energy that is not finite or above its capacity; on no energy at all
 */
export function summarizeReserve(plant: Plant, socKwh: Float64Array): ReserveSummary {
  check({ plant, socKwh }, { plant: aPlant, socKwh: both(stored, notEmpty) });
  const reserve = reserveKwh(plant, socKwh);
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i < reserve.length; i++) if (reserve[i]! < least) least = reserve[i]!;
  const { p10, median } = percentiles(reserve);
  return { minKwh: least, p10Kwh: p10, medianKwh: median };
}

function percentiles(values: Float64Array): Percentiles {
  // By selection: a sort of a year takes half as long again. The library copies, and reads by index only.
  const [p10, median] = quantile(values as unknown as number[], [0.1, 0.5]);
  return { p10: p10!, median: median! };
}

/** The tenth percentile and the median of values in rising order. */
export function percentilesOf(sorted: Float64Array): Percentiles {
  // The library reads by index only, but its types know plain arrays alone.
  const values = sorted as unknown as readonly number[];
  return { p10: quantileSorted(values, 0.1), median: quantileSorted(values, 0.5) };
}
