import * as z from 'zod';
import type { Axis } from '../axis/index.ts';
import { anAxis, instantAtLocal, localMs } from '../axis/inside.ts';
import { bySchema } from '../input/by-schema.ts';
import { check, optional } from '../input/door.ts';
import { fields } from '../input/index.ts';
import type { KnownFloor, Plant, PlantPerStep } from '../plant/index.ts';
import {
  amount,
  aPlant,
  copyQuantity,
  efficiency,
  energies,
  islandDrawKwh,
  plantPerStep,
  quantityAt,
} from '../plant/inside.ts';
import { minuteOf } from './minute-of.ts';
import { warmMs } from './warm-time.ts';

const clock = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$|^24:00$/, 'a local time such as "06:30"');
const share = z.number().min(0).max(1);
const localTime = z
  .string()
  .regex(/^\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])T([01]\d|2[0-3]):[0-5]\d$/, {
    error: 'a local date and time such as "2026-07-04T08:00"',
    abort: true,
  })
  .refine((text) => !Number.isNaN(localMs(text)), {
    error: 'a date that exists, such as "2026-07-04T08:00"',
    params: { code: 'not-a-date' },
  });

/** The `reserve` section: floors that move. All that apply at a time are compared and the highest holds. */
export const reserveSchema = fields({
  byMonth: z
    .array(
      fields({
        months: z.array(z.int().min(1).max(12)).min(1).max(12).describe('Months, 1 to 12.'),
        share: share.describe('Floor as a share of usable energy, 0 to 1.'),
      }),
    )
    .min(1)
    .max(12)
    .optional()
    .describe('Floors by season or month.'),
  byHour: z
    .array(
      fields({
        from: clock.describe('When the floor begins, such as "21:00".'),
        to: clock.describe('When it ends, such as "06:00"; before `from` for a stretch over midnight.'),
        share: share.describe('Floor as a share of usable energy, 0 to 1.'),
      }),
    )
    .min(1)
    .max(24)
    .optional()
    .describe('Floors by hour of the day, local clock.'),
  keepHours: z
    .number()
    .min(0.001)
    .max(72)
    .optional()
    .describe(
      'Keep enough to carry the backed-up load for so many hours without sun, from what the last seven days took.',
    ),
  planned: z
    .array(
      fields({
        from: localTime.describe('When the grid goes down, local: "2026-07-04T08:00".'),
        to: localTime.describe('When it is due back, local.'),
        noticeHours: z
          .number()
          .min(0.001)
          .max(720)
          .describe('How long before it is known, h: the battery fills from then on.'),
      }).superRefine((outage, context) => {
        if (Date.parse(outage.to) <= Date.parse(outage.from))
          context.addIssue({
            code: 'custom',
            path: ['to'],
            params: { code: 'contradiction', received: outage.to },
            message: `a time after ${outage.from}`,
          });
      }),
    )
    .min(1)
    .max(150)
    .optional()
    .describe('Outages known beforehand.'),
});

/** The `reserve` section, checked. */
export type Reserve = z.output<typeof reserveSchema>;

/** A planned outage, and whether its notice is long enough to fill up. */
export interface PlannedOutage {
  readonly from: string;
  readonly to: string;
  readonly noticeHours: number;
  /** First interval of the outage; −1 where the axis doesn't hold it. */
  readonly interval: number;
  /** Hours that filling takes from the lowest that the floors allow at notice, at the charging limit; Infinity never. */
  readonly fillHours: number;
  /**
   * `no-grid-charging`: only sun can fill it, which nobody can promise. `too-cold`: the notice would be long enough, but
   * for cells that are too cold to charge. `after-another`: a planned outage before it leaves less time than filling an empty
   * battery takes.
   */
  readonly verdict:
    | 'in-time'
    | 'too-late'
    | 'no-grid-charging'
    | 'too-cold'
    | 'after-another'
    | 'cold-since-another'
    | 'off-axis';
}

/** A floor for every interval, and what it rests on. */
export interface MovingFloor {
  readonly floorKwh: Float64Array;
  /** As {@link Plant.floorAsKnown}: what of it is known before each notice. */
  readonly floorAsKnown: readonly KnownFloor[];
  readonly planned: readonly PlannedOutage[];
}

/** What {@link movingFloor} needs. */
export interface MovingFloorOptions {
  readonly axis: Axis;
  readonly plant: Plant;
  readonly reserve: Reserve;
  /** Backed-up load, kWh an interval. Only intervals before `i` are read for the floor of `i`. */
  readonly islandLoadKwh: Float64Array;
  /** As in hours of backup: what age leaves, and how much too high the gauge may read. @defaultValue 1 and 0 */
  readonly energyShare?: number;
  readonly gaugeErrorKwh?: number;
}

/**
 * The reserve floor in every interval: the highest of the plant's own, the month's, the hour's, the moving one and, for a
 * planned outage, a battery that fills up from notice on as fast as it can and is held full until the grid is due back. The
 * floor of an interval is kept at its end, so that it is there for
 * an outage that starts with the next.
 *
 * The moving floor is causal: for "enough for N hours" it takes, of the same N hours of the clock on the last seven days
 * whose end has been seen, the hungriest, with the equipment's own draw, over ηd, and the margins for self-discharge, age and gauge. Until
 * there is one such day it takes the hungriest N hours so far, at first the mean so far; the first interval of all keeps none.
 *
 * @throws InputError on series of another length, and a reserve that the site file may not hold
 */
export function movingFloor(options: MovingFloorOptions): MovingFloor {
  check(options, {
    axis: anAxis,
    plant: aPlant,
    reserve: bySchema(reserveSchema),
    islandLoadKwh: energies,
    energyShare: optional(efficiency),
    gaugeErrorKwh: optional(amount),
  });
  const { axis, reserve } = options;
  const n = axis.intervals;
  const plant = plantPerStep(options.plant, axis);
  const floorKwh = new Float64Array(n);
  copyQuantity(plant.floorKwh, 0, n, floorKwh);
  const { minuteOfDay, month } = axis.calendar;
  const capacityAt = (i: number) => quantityAt(plant.capacityKwh, i);
  const raiseTo = (levelKwh: number, i: number) => {
    if (floorKwh[i]! < levelKwh) floorKwh[i] = levelKwh;
  };

  for (const rule of reserve.byMonth ?? []) {
    for (let i = 0; i < n; i++) if (rule.months.includes(month[i]!)) raiseTo(rule.share * capacityAt(i), i);
  }
  for (const rule of reserve.byHour ?? []) {
    const from = minuteOf(rule.from);
    const to = minuteOf(rule.to);
    for (let i = 0; i < n; i++) {
      const minute = minuteOfDay[i]!;
      const inside = from < to ? minute >= from && minute < to : minute >= from || minute < to;
      if (inside) raiseTo(rule.share * capacityAt(i), i);
    }
  }
  if (reserve.keepHours !== undefined) {
    const kept = keptForHours(options, reserve.keepHours);
    for (let i = 0; i < n; i++) if (!Number.isNaN(kept[i]!)) raiseTo(Math.min(capacityAt(i), kept[i]!), i);
  }
  const unnoticedKwh = floorKwh.slice();
  const { coldSteps } = options.plant;
  const cold = new Set(coldSteps === undefined ? [] : month.filter((_, i) => coldSteps[i] === 1));
  const tooCold = (each: number) => cold.has(each);
  const raises: KnownFloor[] = [];
  // By their dates: what is held for one is held for the next that follows closely.
  const planned = (reserve.planned ?? [])
    .toSorted((a, b) => a.from.localeCompare(b.from))
    .map((outage) => {
      const { raise, ...told } = raiseForPlanned(axis, plant, options.plant.chargeLimitKw, outage, floorKwh);
      if (raise !== undefined) {
        raises.push(raise);
        raiseFloor(floorKwh, raise);
      }
      return told;
    })
    .map((outage, k, all) => {
      if (outage.verdict === 'off-axis') return outage;
      const verdict = afterAnother(axis, options.plant, outage, all.slice(0, k), tooCold) ?? outage.verdict;
      return { ...outage, verdict };
    });
  return { floorKwh, floorAsKnown: asKnown(unnoticedKwh, raises, floorKwh), planned };
}

/** The floor before each notice, and all of it after the last one. */
function asKnown(unnoticedKwh: Float64Array, raises: readonly KnownFloor[], floorKwh: Float64Array): KnownFloor[] {
  const known: KnownFloor[] = [{ from: 0, floorKwh: unnoticedKwh }];
  for (const raise of raises.toSorted((a, b) => a.from - b.from)) {
    const last = known.at(-1)!;
    if (raise.from > last.from) known.push({ from: raise.from, floorKwh: last.floorKwh.slice() });
    raiseFloor(known.at(-1)!.floorKwh, raise);
  }
  return [...known.slice(0, -1), { from: known.at(-1)!.from, floorKwh }];
}

function raiseFloor(floorKwh: Float64Array, { from, floorKwh: levels }: KnownFloor): void {
  for (let k = 0; k < levels.length; k++) floorKwh[from + k] = Math.max(floorKwh[from + k]!, levels[k]!);
}

/** Days looked back on for the moving floor. */
const DAYS_BACK = 7;

/**
 * Stored energy that carries the backed-up load for so many hours from the end of each interval on, kWh, by what the
 * same hours of the clock took on the last seven days; before there is one, by the hungriest stretch so far, at first by the mean
 * so far. It may be more than the battery holds; NaN in the first interval, before which nothing is known.
 */
function keptForHours(options: Omit<MovingFloorOptions, 'reserve'>, hours: number): Float64Array {
  const { axis } = options;
  const n = axis.intervals;
  const { steps, drawnFrom, drawnBefore, levelKwh } = stretchesOf(options, hours);
  const levels = new Float64Array(n).fill(Number.NaN);
  // The stretch starts at i + 1; one that began k days before has been seen whole where it ended at i at the latest.
  const nearest = Math.ceil((steps + 1) / Math.round(24 / axis.stepHours));
  let hungriest = -1;
  for (let i = 0; i < n; i++) {
    if (i >= steps) hungriest = Math.max(hungriest, drawnFrom(i - steps));
    let most = -1;
    for (let k = nearest; k < nearest + DAYS_BACK; k++) {
      const from = daysBefore(axis, i + 1, k);
      if (from < 0) break;
      if (from + steps <= i) most = Math.max(most, drawnFrom(from));
    }
    if (most < 0) most = hungriest >= 0 || i === 0 ? hungriest : (drawnBefore(i) / i) * steps;
    if (most >= 0) levels[i] = levelKwh(most);
  }
  return levels;
}

/**
 * The interval that begins at the same time of the clock so many days before interval `i`, which may be the end of the axis;
 * −1 where the axis holds none. A time that the clock skipped that day is the next one that it showed.
 */
function daysBefore({ calendar, intervals, stepMinutes }: Axis, i: number, back: number): number {
  const { day, days, minuteOfDay } = calendar;
  const last = i === intervals;
  const minute = last ? (minuteOfDay[i - 1]! + stepMinutes) % 1440 : minuteOfDay[i]!;
  const source = days[day[last ? i - 1 : i]! + (last && minute === 0 ? 1 : 0) - back];
  if (source === undefined) return -1;
  const { firstInterval: first } = source;
  const end = first + source.intervals;
  // A day that the axis cuts short begins later.
  let at = first + Math.round((minute - minuteOfDay[first]!) / stepMinutes);
  if (at < first) return -1;
  at = Math.min(at, end - 1);
  while (at > first && minuteOfDay[at]! > minute) at--;
  while (at + 1 < end && minuteOfDay[at]! < minute) at++;
  return at;
}

/** Stored energy that carries each stretch of so many hours of the data, kWh: one entry a start whose stretch is whole. */
export function takenByHours(options: Omit<MovingFloorOptions, 'reserve'>, hours: number): Float64Array {
  const { steps, drawnFrom, levelKwh } = stretchesOf(options, hours);
  const starts = Math.max(0, options.axis.intervals - steps + 1);
  return Float64Array.from({ length: starts }, (_, from) => levelKwh(drawnFrom(from)));
}

/** Stretches of so many hours: the load of each, and what must be stored for a load. */
function stretchesOf(options: Omit<MovingFloorOptions, 'reserve'>, hours: number) {
  const { axis, islandLoadKwh: loadKwh, energyShare = 1, gaugeErrorKwh = 0 } = options;
  const plant = plantPerStep(options.plant, axis);
  const n = axis.intervals;
  const steps = Math.max(1, Math.ceil(hours / axis.stepHours - 1e-9));
  // What self-discharge leaves of it by the end.
  const kept = (1 - plant.decayShare) ** steps;
  const standbyKwh = islandDrawKwh(plant) * steps;
  const sum = new Float64Array(n + 1);
  for (let i = 0; i < n; i++) sum[i + 1] = sum[i]! + loadKwh[i]!;
  return {
    steps,
    drawnFrom: (from: number) => sum[from + steps]! - sum[from]!,
    drawnBefore: (i: number) => sum[i]!,
    levelKwh: (loadedKwh: number) => {
      const drawnKwh = (loadedKwh + standbyKwh) / plant.conversion.dischargeEfficiency;
      return (plant.shutdownKwh + drawnKwh / kept + gaugeErrorKwh) / energyShare;
    },
  };
}

/**
 * Whether one of the planned outages before leaves less time than filling an empty battery takes, on the axis or off it; hours
 * of months that are too cold to charge are no such time. Where they alone are why, the verdict says so; undefined where it is
 * enough.
 */
export function afterAnother(
  axis: Axis,
  { capacityKwh, chargeLimitKw, chargeEfficiency }: Plant,
  outage: Pick<PlannedOutage, 'from'>,
  before: readonly Pick<PlannedOutage, 'to'>[],
  tooCold: (month: number) => boolean,
): 'after-another' | 'cold-since-another' | undefined {
  // The one that ends last leaves the least: what is between its end and the start lies within what the others leave.
  const last = before.reduce<Pick<PlannedOutage, 'to'> | undefined>(
    (latest, other) => (latest === undefined || other.to > latest.to ? other : latest),
    undefined,
  );
  if (last === undefined) return undefined;
  const fillMs = (capacityKwh / (chargeLimitKw * chargeEfficiency)) * 3_600_000;
  const startMs = startMsOf(axis, outage);
  const endMs = endMsOf(axis, last);
  if (warmMs(axis, endMs, startMs, tooCold, fillMs) >= fillMs) return undefined;
  return startMs - endMs < fillMs ? 'after-another' : 'cold-since-another';
}

/** When a planned outage begins, ms since the epoch. */
export function startMsOf({ zone }: Axis, { from }: Pick<PlannedOutage, 'from'>): number {
  return instantAtLocal(zone, localMs(from));
}

/** When the grid is due back, ms since the epoch: the later one where the clock shows the time twice. */
export function endMsOf({ zone }: Axis, { to }: Pick<PlannedOutage, 'to'>): number {
  return instantAtLocal(zone, localMs(to), 'later');
}

/** What a planned outage asks for from its notice on, and whether that is reached by then. */
function raiseForPlanned(
  axis: Axis,
  plant: PlantPerStep,
  chargeLimitKw: number,
  outage: NonNullable<Reserve['planned']>[number],
  floorKwh: Float64Array,
): PlannedOutage & { readonly raise?: KnownFloor } {
  const { from, to, noticeHours } = outage;
  const stepMs = axis.stepMinutes * 60_000;
  const startMs = startMsOf(axis, outage);
  const endMs = endMsOf(axis, outage);
  const interval = Math.floor((startMs - axis.startEpochMs) / stepMs);
  const noticed = Math.ceil((startMs - noticeHours * 3_600_000 - axis.startEpochMs) / stepMs);
  const base = { from, to, noticeHours };
  if (interval < 1 || interval >= axis.intervals)
    return { ...base, interval: -1, fillHours: Number.POSITIVE_INFINITY, verdict: 'off-axis' };
  const first = Math.max(0, noticed);
  const capacityKwh = quantityAt(plant.capacityKwh, interval);
  const beforeKwh = Math.min(capacityKwh, first > 0 ? floorKwh[first - 1]! : plant.startKwh);
  const fillKwh = capacityKwh - beforeKwh;
  const risePerStep = chargeLimitKw * axis.stepHours * plant.conversion.chargeEfficiency;
  const fillHours = (fillKwh / risePerStep) * axis.stepHours;
  let risenKwh = 0;
  // A floor higher than charging can follow would be missed by every dispatch. Sun alone promises no rise at all.
  let reachedKwh = plant.gridCharging ? beforeKwh : Number.POSITIVE_INFINITY;
  // Every interval that the stretch touches, as on the sheet. Without the grid nothing more is bought: what is there is held.
  const end = Math.min(axis.intervals, Math.ceil((endMs - axis.startEpochMs) / stepMs));
  const levels = new Float64Array(end - first);
  for (let i = first; i < end; i++) {
    const rise = i < interval ? quantityAt(plant.chargeLimitKwh, i) * plant.conversion.chargeEfficiency : 0;
    risenKwh += rise;
    reachedKwh += rise;
    levels[i - first] = Math.min(quantityAt(plant.capacityKwh, i), reachedKwh);
  }
  const verdict =
    fillKwh <= 1e-9
      ? 'in-time'
      : !plant.gridCharging
        ? 'no-grid-charging'
        : fillHours <= (interval - first) * axis.stepHours + 1e-9
          ? risenKwh < fillKwh - 1e-9
            ? 'too-cold'
            : 'in-time'
          : 'too-late';
  return { ...base, interval, fillHours, verdict, raise: { from: first, floorKwh: levels } };
}
