import type { Axis } from '../axis/index.ts';
import { axisSteps } from '../axis/inside.ts';
import {
  bytes,
  check,
  number,
  numberOrSeries,
  optional,
  type Rule,
  type RulesOf,
  record,
  series,
} from '../input/door.ts';
import type { IslandedPlant, Plant } from '../plant/index.ts';
import {
  amount,
  aPlant,
  efficiency,
  energies,
  islanded,
  plantPerStep,
  RESIDUE_KWH,
  startingKwh,
} from '../plant/inside.ts';
import { composeBlocks, walkBlocks } from './blocks.ts';
import { storedIn } from './stored.ts';
import { followStretches, type Outages, type Stretches, stretchesOf } from './stretches.ts';

/** Longest survival that is counted unless stated otherwise, h: two weeks. */
export const CAP_HOURS = 336;

/** What {@link backupHours} needs. Every series is as long as the axis. */
export interface BackupHoursOptions {
  readonly axis: Axis;
  readonly plant: Plant;
  /** Stored energy at the end of each interval, kWh: what a strategy left. */
  readonly socKwh: Float64Array;
  /** Stored energy before the first interval, kWh. @defaultValue `plant.startKwh` */
  readonly startKwh?: number;
  /** Backed-up load, kWh an interval, ≥ 0. */
  readonly loadKwh: Float64Array;
  /** Solar on the island's side, kWh an interval at AC, ≥ 0; zeros where solar stays outside. */
  readonly solarKwh: Float64Array;
  /** 1 where the cells are too cold to charge. */
  readonly coldSteps?: Uint8Array;
  /** Hours are counted up to here, h; never beyond one time around the axis. @defaultValue {@link CAP_HOURS} */
  readonly capHours?: number;
  /** Share of the energy above the shutdown level that is really there, in (0, 1]: what age leaves. @defaultValue 1 */
  readonly energyShare?: number;
  /** How much too high the gauge may read, kWh: taken off what is stored at the start. @defaultValue 0 */
  readonly gaugeErrorKwh?: number;
  /** How far under full solar may leave the battery where it trips instead of tapering, kWh. @defaultValue 0 */
  readonly fullMarginKwh?: number;
}

/** A hair under 0 is what rounding leaves of a run. */
const stored = series({ least: -1e-9 });
const mask = optional(bytes({ least: 0, most: 1 }));

const rules: RulesOf<BackupHoursOptions> = {
  axis: axisSteps,
  plant: aPlant,
  socKwh: stored,
  startKwh: optional(amount),
  loadKwh: energies,
  solarKwh: energies,
  coldSteps: mask,
  capHours: optional(number({ above: 0, infinite: true })),
  energyShare: optional(efficiency),
  gaugeErrorKwh: optional(amount),
  fullMarginKwh: optional(amount),
};

/**
 * For how many hours stored energy and the island's solar carry the backed-up load, were the grid to fail at the start
 * of each interval. The reserve floor is released, the shutdown level kept; the equipment's own draw goes on, that of converting always;
 * solar tapers when the battery is full (where it trips, `fullMarginKwh` gives a lower answer that holds); decay is taken on all energy above the shutdown level (the lower answer, since
 * the released floor decays too). A load above the discharge limit ends it at once, whatever the sun gives: a cloud
 * must not be what trips the inverter. The step in which energy runs out counts in part. The axis wraps.
 *
 * A step maps energy above the shutdown level `x → min(cap, k·x + a)` and ends the outage where `k·x + a < 0`. Such maps
 * compose, so blocks of 2, 4, 8 … steps are composed once and each start walks them: O(N log N) time, O(N) memory. While outages
 * are shorter than that is worth, stretches of steps that take something are read from one running sum.
 *
 * @returns hours for every interval as the start of an outage; `capHours` where it lasted that long (censored)
 * @throws InputError `missing` | `wrong-type` | `length-mismatch` | `not-finite` | `out-of-range` | `above-capacity`
 * @see docs/concepts/outage.md, "Hours of backup"
 */
export function backupHours(options: BackupHoursOptions): Float64Array {
  check(options, rules);
  const { plant, socKwh, startKwh = plant.startKwh } = options;
  check({ socKwh, startKwh }, { socKwh: storedIn(plant), startKwh: storedIn(plant) });
  return hoursOfRuns(options)(socKwh);
}

/**
 * The same for many runs of one home: what doesn't hang on what is stored is made once. Checks nothing.
 * @returns hours for the stored energy that a run left
 */
export function hoursOfRuns(options: Omit<BackupHoursOptions, 'socKwh'>): (socKwh: Float64Array) => Float64Array {
  const { axis, plant, startKwh = plant.startKwh, loadKwh, solarKwh, capHours = CAP_HOURS } = options;
  const n = axis.intervals;
  const island = islanded(plantPerStep(plant, axis), options);
  const addKwh = additionsOf(island, loadKwh, solarKwh);
  const capSteps = Math.min(n, capHours / axis.stepHours);
  let stretches: Stretches | undefined;
  let blocks: Blocks | undefined;
  return (socKwh) => {
    const outages: Outages = { island, addKwh, capSteps, socKwh, startKwh };
    const hours = new Float64Array(n);
    let from = 0;
    if (blocks === undefined) {
      if (!areShort(outages)) stretches ??= stretchesOf(addKwh, 1 - island.decayShare, capSteps);
      from = stretches === undefined ? stepThrough(outages, hours) : followStretches(stretches, outages, hours);
    }
    if (from === n) return hours;
    blocks ??= blocksOf(outages);
    followOutages(outages, blocks, hours, from);
    return hours;
  };
}

/** Steps of outages composed, and what walks of them have taught: the same whatever is stored. */
interface Blocks {
  readonly composed: Float64Array;
  readonly memo: Float64Array;
}

function blocksOf({ island, addKwh }: Outages): Blocks {
  const composed = composeBlocks(addKwh, island.capacityKwh, 1 - island.decayShare);
  return { composed, memo: new Float64Array(composed.length / 4) };
}

/**
 * Whether outages last a few steps alone, by some starts spread over the axis: no sum is worth its while then. Either way
 * gives the same hours.
 */
function areShort({ island, addKwh, socKwh }: Outages): boolean {
  const keep = 1 - island.decayShare;
  const n = addKwh.length;
  let left = TRIED_STARTS * FEW_STEPS;
  for (let k = 0; k < TRIED_STARTS; k++) {
    const start = Math.floor(((k + 0.5) * n) / TRIED_STARTS);
    let x = startingKwh(island, socKwh[start]!);
    for (let t = start + 1; x >= 0 && left > 0; t++, left--)
      x = Math.min(keep * x + addKwh[t % n]!, island.capacityKwh);
  }
  return left > 0;
}

/**
 * Hours of each start, a step at a time: the cheapest way while outages are short. Gives up once that has cost more than
 * composing blocks would.
 *
 * @returns the first start that is left; all are done where it is the number of starts
 */
function stepThrough(outages: Outages, hours: Float64Array): number {
  const { island, addKwh, capSteps, socKwh } = outages;
  const { stepHours } = island;
  // A plus tells the engine that these are numbers, so that it does not look in every step.
  const capKwh = +island.capacityKwh;
  const keep = 1 - island.decayShare;
  const n = addKwh.length;
  const cap = capSteps * stepHours;
  let spare = STEPS_WORTH_BLOCKS * n;
  let storedKwh = outages.startKwh;
  for (let i = 0; i < n; i++) {
    let x = startingKwh(island, storedKwh);
    storedKwh = socKwh[i]!;
    if (x < 0) continue;
    let t = i;
    let steps = 0;
    for (;;) {
      const held = keep * x;
      const a = addKwh[t]!;
      const next = held + a;
      if (next < 0) {
        hours[i] = Math.min(cap, (steps + held / -a) * stepHours);
        break;
      }
      x = Math.min(next, capKwh);
      if (++steps >= capSteps) {
        hours[i] = cap;
        break;
      }
      if (++t === n) t = 0;
    }
    if (steps > SHORT_STEPS) {
      spare -= steps - SHORT_STEPS;
      if (spare < 0) return i + 1;
    }
  }
  return n;
}

/** The same for the starts from `from` on, walking composed blocks. */
function followOutages(outages: Outages, { composed, memo }: Blocks, hours: Float64Array, from: number): void {
  const { island, addKwh, capSteps, socKwh, startKwh } = outages;
  const { stepHours } = island;
  // A plus tells the engine that these are numbers, so that it does not look in every step.
  const capKwh = +island.capacityKwh;
  const keep = 1 - island.decayShare;
  const n = addKwh.length;
  const cap = capSteps * stepHours;
  let lasted = 0;
  for (let i = from; i < n; i++) {
    let x = startingKwh(island, i === 0 ? startKwh : socKwh[i - 1]!);
    if (x < 0) continue;
    // Neighbours in time last about as long: where the last one was short, a few steps are tried first.
    const limit = lasted > FEW_STEPS ? 0 : Math.min(FEW_STEPS, capSteps);
    let t = i;
    let steps = 0;
    let left = -1;
    while (steps < limit) {
      const held = keep * x;
      const a = addKwh[t]!;
      if (held + a < 0) {
        left = held / -a;
        break;
      }
      x = Math.min(held + a, capKwh);
      steps++;
      if (++t === n) t = 0;
    }
    lasted = steps;
    if (left >= 0) lasted += left;
    else if (steps < capSteps) lasted += walkBlocks(composed, memo, n, t, x, capSteps - steps);
    hours[i] = Math.min(cap, lasted * stepHours);
  }
}

/** Outages up to this many steps cost less by stepping than by walking blocks. */
const SHORT_STEPS = 64;
/** Starts looked at to see how long outages last. An odd number against the hours of a day, so that they fall on many of them. */
const TRIED_STARTS = 41;
/** Steps tried before a walk, where the last outage was short; and the mean up to which stepping is the cheapest. */
const FEW_STEPS = 16;
/** Blocks are composed once stepping through long outages has cost about as much: this many steps an interval. */
const STEPS_WORTH_BLOCKS = 1;

/**
 * What each step of an outage adds to stored energy, kWh on the battery's side: negative where load and standby exceed
 * solar, −Infinity where the load is more than the equipment can carry.
 *
 * @throws InputError on a plant out of range, and series of another length, negative or not finite
 */
export function islandAdditions(island: IslandedPlant, loadKwh: Float64Array, solarKwh: Float64Array): Float64Array {
  const ofSteps: Rule = series({ least: 0, length: null });
  check({ island, loadKwh }, { island: anIslandedPlant(), loadKwh: ofSteps });
  check({ solarKwh }, { solarKwh: series({ least: 0 }) }, loadKwh.length);
  check({ limits: island.chargeLimitKwh }, { limits: numberOrSeries({ least: 0, infinite: true }) }, loadKwh.length);
  return additionsOf(island, loadKwh, solarKwh);
}

const anyLimit: Rule = (value, path, looking) => {
  const bounds = { least: 0, infinite: true, length: null };
  (typeof value === 'number' ? number(bounds) : series(bounds))(value, path, looking);
};

/** A plant while the grid is gone. */
const anIslandedPlant = (): Rule =>
  record<IslandedPlant>({
    stepHours: number({ above: 0 }),
    capacityKwh: amount,
    decayShare: number({ least: 0, below: 1 }),
    chargeLimitKwh: anyLimit,
    loadLimitKwh: number({ least: 0, infinite: true }),
    standbyKwh: amount,
    solarChargeEfficiency: efficiency,
    dischargeEfficiency: efficiency,
    shutdownKwh: amount,
    energyShare: efficiency,
    gaugeErrorKwh: amount,
  });

function additionsOf(island: IslandedPlant, loadKwh: Float64Array, solarKwh: Float64Array): Float64Array {
  const { chargeLimitKwh } = island;
  const standbyKwh = +island.standbyKwh;
  const loadLimitKwh = +island.loadLimitKwh;
  const solarChargeEfficiency = +island.solarChargeEfficiency;
  const perDelivered = 1 / island.dischargeEfficiency;
  const limits = typeof chargeLimitKwh === 'number' ? undefined : chargeLimitKwh;
  let limit = typeof chargeLimitKwh === 'number' ? chargeLimitKwh : 0;
  const n = loadKwh.length;
  const add = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const load = loadKwh[i]!;
    const surplus = solarKwh[i]! - load - standbyKwh;
    if (limits !== undefined) limit = limits[i]!;
    if (load > loadLimitKwh) add[i] = Number.NEGATIVE_INFINITY;
    else if (surplus < -RESIDUE_KWH) add[i] = surplus * perDelivered;
    else if (surplus > RESIDUE_KWH) add[i] = Math.min(surplus, limit) * solarChargeEfficiency;
  }
  return add;
}
