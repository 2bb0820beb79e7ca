import type { Axis } from '../axis/index.ts';
import { anAxis, anInterval } from '../axis/inside.ts';
import { callable, check, list, number, optional, series } from '../input/door.ts';
import { InputError } from '../input/issue.ts';
import { makeFlows, makeLevels, type Plant, type PlantOnAxis, type Service } from '../plant/index.ts';
import { amount, aPlant, aService, energies, executeLevels, plantOnAxis, quantityAt } from '../plant/inside.ts';
import { CAP_HOURS } from './hours.ts';
import type { UnservedCurve } from './reliability.ts';
import { isEvening, type Percentiles, percentilesOf, ROUNDING_HOURS, settledFrom } from './summary.ts';

/** Chance of lasting at least so many hours, were an outage to start at any of the given starts. */
export interface SurvivalCurve {
  readonly hours: readonly number[];
  /** One an entry of `hours`, falling, 0 … 1. */
  readonly probability: readonly number[];
  readonly starts: number;
}

/** Hours of backup, of any number of starts. */
const someHours = series({ least: 0, length: null });

/** Hours at which survival and unserved energy are told. */
export const TOLD_HOURS: readonly number[] = [1, 2, 4, 8, 12, 24, 48, 72];

/**
 * Share of starts that last at least so many hours, over those that `include` takes (all where left out).
 * @throws InputError on hours that are negative or not finite; `no-starts` where there is none to take a share of
 */
export function survivalCurve(
  backupHours: Float64Array,
  atHours: readonly number[] = TOLD_HOURS,
  include?: (interval: number) => boolean,
): SurvivalCurve {
  check(
    { backupHours, atHours, include },
    { backupHours: someHours, atHours: list(amount), include: optional(callable) },
  );
  const counts = new Float64Array(atHours.length);
  let starts = 0;
  for (let i = 0; i < backupHours.length; i++) {
    if (include !== undefined && !include(i)) continue;
    starts++;
    for (let j = 0; j < atHours.length; j++) if (backupHours[i]! >= atHours[j]! - 1e-9) counts[j] = counts[j]! + 1;
  }
  if (starts === 0)
    throw new InputError([
      {
        code: 'no-starts',
        where: { path: [include === undefined ? 'backupHours' : 'include'] },
        received: `none of ${backupHours.length} starts`,
        expected: 'at least one start: none has no share that lasts',
      },
    ]);
  return { hours: atHours, probability: Array.from(counts, (count) => count / starts), starts };
}

/** Hours of backup over the starts of one month, hour of the day or weekday. */
export interface Slice extends Percentiles {
  /** Month 1 … 12, hour 0 … 23, or ISO weekday 1 … 7. */
  readonly key: number;
  readonly starts: number;
  /** The shortest, of those that begin once the run has settled where there are any. */
  readonly least: number;
  /** The chance to last `TOLD_HOURS`. */
  readonly survival: readonly number[];
}

/**
 * Hours of backup by month, hour of the day and weekday of the start, local clock; groups without starts left out.
 * @throws InputError on hours of another length than the axis, negative or not finite
 */
export function sliceBackup(
  axis: Axis,
  backupHours: Float64Array,
): { byMonth: Slice[]; byHour: Slice[]; byWeekday: Slice[]; eveningsByMonth: Slice[] } {
  check({ axis, backupHours }, { axis: anAxis, backupHours: series({ least: 0 }) });
  const { month, minuteOfDay, weekday } = axis.calendar;
  return {
    byMonth: slices(axis, backupHours, 13, (i) => month[i]!),
    byHour: slices(axis, backupHours, 24, (i) => Math.floor(minuteOfDay[i]! / 60)),
    byWeekday: slices(axis, backupHours, 8, (i) => weekday[i]!),
    eveningsByMonth: slices(axis, backupHours, 13, (i) => (isEvening(axis, i) ? month[i]! : -1)),
  };
}

function slices(axis: Axis, backupHours: Float64Array, keys: number, keyOf: (i: number) => number): Slice[] {
  const groups: number[][] = Array.from({ length: keys }, () => []);
  const settled = settledFrom(axis);
  const least = new Float64Array(keys).fill(Number.POSITIVE_INFINITY);
  for (let i = 0; i < backupHours.length; i++) {
    const key = keyOf(i);
    if (key < 0) continue;
    groups[key]!.push(backupHours[i]!);
    if (i >= settled) least[key] = Math.min(least[key]!, backupHours[i]!);
  }
  const found: Slice[] = [];
  for (const [key, values] of groups.entries()) {
    if (values.length === 0) continue;
    const hours = Float64Array.from(values).sort();
    found.push({
      key,
      starts: hours.length,
      least: Number.isFinite(least[key]!) ? least[key]! : hours[0]!,
      ...percentilesOf(hours),
      survival: survivalCurve(hours).probability,
    });
  }
  return found;
}

/** A start of an outage. */
export interface Start {
  readonly interval: number;
  readonly hours: number;
}

/** The month whose weekday evenings are the shortest in nine of ten, 1 to 12; all starts where no weekday evening is. */
export function worstMonth(axis: Axis, backupHours: Float64Array): { readonly month: number; readonly p10: number } {
  const { month } = axis.calendar;
  const evenings = slices(axis, backupHours, 13, (i) => (isEvening(axis, i) ? month[i]! : -1));
  const all = evenings.length > 0 ? evenings : slices(axis, backupHours, 13, (i) => month[i]!);
  const worst = all.reduce((least, slice) => (slice.p10 < least.p10 - ROUNDING_HOURS ? slice : least));
  return { month: worst.key, p10: worst.p10 };
}

/**
 * The shortest starts, one a local day (the shortest of it, the first of equals), worst first. Those before the run has
 * settled, in the first week at most, are left out.
 * @throws InputError on hours of another length than the axis, negative or not finite
 */
export function worstStarts(
  axis: Axis,
  backupHours: Float64Array,
  count = 5,
  include?: (i: number) => boolean,
): Start[] {
  check(
    { axis, backupHours, count, include },
    {
      axis: anAxis,
      backupHours: series({ least: 0 }),
      count: number({ whole: true, least: 0 }),
      include: optional(callable),
    },
  );
  const { day, days } = axis.calendar;
  const worst = new Int32Array(days.length).fill(-1);
  for (let i = settledFrom(axis); i < backupHours.length; i++) {
    if (include !== undefined && !include(i)) continue;
    const known = worst[day[i]!]!;
    if (known < 0 || backupHours[i]! < backupHours[known]! - ROUNDING_HOURS) worst[day[i]!] = i;
  }
  const left = Array.from(worst).filter((i) => i >= 0);
  const found: Start[] = [];
  while (found.length < count && left.length > 0) {
    let first = 0;
    for (let k = 1; k < left.length; k++)
      if (backupHours[left[k]!]! < backupHours[left[first]!]! - ROUNDING_HOURS) first = k;
    const [interval] = left.splice(first, 1);
    found.push({ interval: interval!, hours: backupHours[interval!]! });
  }
  return found;
}

/** What goes without in outages of some length. */
export interface UnservedAt {
  readonly hours: number;
  /** Mean over all starts, kWh of backed-up load. */
  readonly meanKwh: number;
  /** The most that any start of it misses, kWh. */
  readonly worstKwh: number;
  /** Share of starts that miss nothing. */
  readonly carriedShare: number;
  /** Mean share of the backed-up load that goes without. */
  readonly unservedShare: number;
}

/**
 * Energy of the backed-up load that goes without in outages of given lengths, over every start. After the battery has
 * given out the island stays dark, so what is missing is all load from then to the outage's end. O(starts × lengths).
 *
 * @throws InputError on series of another length, and lengths of more than a year
 */
export function unservedAt(
  axis: Axis,
  backupHours: Float64Array,
  loadKwh: Float64Array,
  lengths: readonly number[] = TOLD_HOURS,
): UnservedAt[] {
  check(
    { axis, backupHours, loadKwh, lengths },
    {
      axis: anAxis,
      backupHours: series({ least: 0 }),
      loadKwh: energies,
      lengths: list(number({ least: 0, most: 8784 })),
    },
  );
  const n = axis.intervals;
  const h = axis.stepHours;
  const longest = Math.ceil(lengths.reduce((most, hours) => Math.max(most, hours), 0) / h) + 1;
  /** Load from the data's start to each step, running on over the year's end. */
  const sum = new Float64Array(n + longest + 1);
  for (let t = 0; t < n + longest; t++) sum[t + 1] = sum[t]! + loadKwh[t % n]!;
  /** Load up to the moment that the battery gives out, or Infinity where it outlasts every length. */
  const carriedTo = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const steps = backupHours[i]! / h;
    const whole = Math.floor(steps);
    carriedTo[i] =
      whole >= longest
        ? Number.POSITIVE_INFINITY
        : sum[i + whole]! + (steps - whole) * (sum[i + whole + 1]! - sum[i + whole]!);
  }
  return lengths.map((hours) => {
    const steps = hours / h;
    const whole = Math.floor(steps);
    const part = steps - whole;
    let missing = 0;
    let wanted = 0;
    let worstKwh = 0;
    let carried = 0;
    for (let i = 0; i < n; i++) {
      const end = sum[i + whole]! + (part > 0 ? part * (sum[i + whole + 1]! - sum[i + whole]!) : 0);
      wanted += end - sum[i]!;
      if (backupHours[i]! >= hours - 1e-9) carried++;
      else if (end > carriedTo[i]!) {
        const kwh = end - carriedTo[i]!;
        missing += kwh;
        if (kwh > worstKwh) worstKwh = kwh;
      }
    }
    return {
      hours,
      meanKwh: missing / n,
      worstKwh,
      carriedShare: carried / n,
      unservedShare: wanted > 0 ? missing / wanted : 0,
    };
  });
}

const CURVE_HOURS = [0.25, 0.5, 1, 1.5, 2, 3, 4, 6, 8, 10, 12, 16, 20, 24, 30, 36, 48, 60, 72, 96, 120, 168, 240, 336];

/** Mean unserved energy by length of outage, for {@link expectedUnservedKwhPerYear}. */
export function unservedCurve(axis: Axis, backupHours: Float64Array, loadKwh: Float64Array): UnservedCurve {
  const points = unservedAt(axis, backupHours, loadKwh, CURVE_HOURS);
  return { hours: [0, ...CURVE_HOURS], kwh: [0, ...points.map((point) => point.meanKwh)] };
}

/** What {@link rechargeHours} needs. */
export interface RechargeOptions {
  readonly axis: Axis;
  readonly plant: Plant;
  readonly service: Service;
  /** The whole home's load and solar, kWh an interval. */
  readonly loadKwh: Float64Array;
  readonly solarKwh: Float64Array;
  /** Interval in which power is back. */
  readonly from: number;
  /** Stored energy then, kWh. */
  readonly fromKwh: number;
  /** @defaultValue the plant's capacity */
  readonly toKwh?: number;
}

/**
 * Hours from the return of power until so much is stored again: from own surplus and, where grid charging is allowed,
 * from the grid, within the charging and import limits. Counted up to 336 h.
 *
 * @throws InputError on series of another length, and an interval that the axis doesn’t have
 */
export function rechargeHours(options: RechargeOptions): number {
  check(options, {
    axis: anAxis,
    plant: aPlant,
    service: aService,
    loadKwh: energies,
    solarKwh: energies,
    from: anInterval,
    fromKwh: amount,
    toKwh: optional(amount),
  });
  const { plant, axis, loadKwh, solarKwh, service, from, fromKwh, toKwh } = options;
  return rechargesOnAxis(plantOnAxis(plant, axis, loadKwh, solarKwh, service))(from, fromKwh, toKwh);
}

/** Hours that {@link rechargeHours} looks at in one go: most recharges are over by then. */
const RECHARGE_BLOCK_HOURS = 12;

/**
 * The same for many returns of power to one home: the plant's own loop, told to hold, is run until enough is stored.
 *
 * @returns hours from the start of interval `from`, with `fromKwh` stored then, until `toKwh` are
 */
export function rechargesOnAxis(onAxis: PlantOnAxis): (from: number, fromKwh: number, toKwh?: number) => number {
  const { stepHours, axis } = onAxis;
  const n = axis.intervals;
  // Filling on past the wanted level tells when within its step it was reached.
  const endless: PlantOnAxis = { ...onAxis, capacityKwh: Number.POSITIVE_INFINITY };
  // Only stored energy is read, which the loop writes in every step, so these are used again and again.
  const flows = makeFlows(n);
  const levels = makeLevels(n);
  levels.gridChargeToKwh.fill(Number.POSITIVE_INFINITY);
  levels.serveDownToKwh.fill(Number.POSITIVE_INFINITY);
  const block = Math.max(1, Math.round(RECHARGE_BLOCK_HOURS / stepHours));
  const steps = Math.ceil(CAP_HOURS / stepHours);
  return (from, fromKwh, toKwh) => {
    const state = { socKwh: fromKwh, shortfallIntervals: 0, shortfallKwh: 0 };
    const enough = (i: number) => toKwh ?? quantityAt(onAxis.capacityKwh, i);
    if (fromKwh >= enough(from) - 1e-9) return 0;
    let before = fromKwh;
    for (let done = 0; done < steps; ) {
      const first = (from + done) % n;
      const end = Math.min(n, first + Math.min(block, steps - done));
      executeLevels(endless, levels, first, end, state, flows);
      for (let i = first; i < end; i++, done++) {
        const after = flows.socKwh[i]!;
        const wanted = enough(i);
        if (after >= wanted - 1e-9) {
          const part = wanted > before ? Math.min(1, (wanted - before) / (after - before)) : 0;
          return (done + part) * stepHours;
        }
        before = after;
      }
    }
    return CAP_HOURS;
  };
}
