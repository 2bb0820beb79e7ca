import type { Axis } from '../axis/index.ts';
import { InputError } from '../input/index.ts';
import type { Plant } from '../plant/index.ts';

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
  /** Hours are counted up to here, h; never beyond one time around the axis. @defaultValue {@link CAP_HOURS} */
  readonly capHours?: number;
  /** Share of the energy above the shutdown level that is really there, in (0, 1]: fade and gauge error. @defaultValue 1 */
  readonly energyShare?: number;
}

/**
 * For how many hours stored energy and the island's solar carry the backed-up load, were the grid to fail at the start
 * of each interval. The reserve floor is released, the shutdown level kept; the equipment's standby draw goes on;
 * solar tapers when the battery is full; decay is taken on all energy above the shutdown level (the lower answer, since
 * the released floor decays too). A load above the discharge limit ends it at once, whatever the sun gives: a cloud
 * must not be what trips the inverter. The step in which energy runs out counts in part. The axis wraps.
 *
 * A step maps energy above the shutdown level `x → min(cap, k·x + a)` and ends the outage where `k·x + a < 0`. Such maps
 * compose, so blocks of 2, 4, 8 … steps are composed once and each start walks them: O(N log N) time, O(N) memory.
 *
 * @returns hours for every interval as the start of an outage; `capHours` where it lasted that long (censored)
 * @throws InputError `length-mismatch` | `out-of-range`
 * @see docs/concepts/outage.md, "Hours of backup"
 */
export function backupHours(options: BackupHoursOptions): Float64Array {
  const { axis, plant, socKwh, startKwh = plant.startKwh, loadKwh, solarKwh, energyShare = 1 } = options;
  const { capHours = CAP_HOURS } = options;
  const n = axis.intervals;
  checkLengths(n, { socKwh, loadKwh, solarKwh });
  checkShare(energyShare, 'energyShare');
  if (!(capHours > 0)) throw outOfRange('capHours', capHours, 'more than 0');
  const { shutdownKwh } = plant;
  const capKwh = Math.max(0, plant.capacityKwh - shutdownKwh) * energyShare;
  const keep = (1 - plant.decayPerHour) ** axis.stepHours;
  const addKwh = islandAdditions(axis, plant, loadKwh, solarKwh);

  const { stepHours } = axis;
  const capSteps = Math.min(n, capHours / stepHours);
  const cap = capSteps * stepHours;
  const hours = new Float64Array(n);
  let blocks: Blocks | undefined;
  // Plain stepping is cheapest while outages end soon; once it has cost more than composing blocks would, they are made.
  let spent = 0;
  for (let i = 0; i < n; i++) {
    const aboveKwh = (i === 0 ? startKwh : socKwh[i - 1]!) - shutdownKwh;
    // Below the shutdown level the equipment is off already. 1e-9 kWh forgives a run's rounding.
    if (aboveKwh < -1e-9) continue;
    let x = Math.min(capKwh, Math.max(0, aboveKwh) * energyShare);
    const limit = blocks === undefined ? capSteps : Math.min(capSteps, STEPS_BEFORE_BLOCKS);
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
    spent += steps;
    if (left < 0 && steps < capSteps) {
      // Only reached with blocks: without them the loop runs to the cap.
      const walk = walkBlocks(blocks!, addKwh, capKwh, keep, t, x, capSteps - steps);
      hours[i] = Math.min(cap, (steps + walk) * stepHours);
    } else hours[i] = left < 0 ? cap : Math.min(cap, (steps + left) * stepHours);
    if (blocks === undefined && spent > STEPS_WORTH_BLOCKS * n) blocks = composeBlocks(addKwh, capKwh, keep);
  }
  return hours;
}

const STEPS_BEFORE_BLOCKS = 8;
const STEPS_WORTH_BLOCKS = 4;

/**
 * What each step of an outage adds to stored energy, kWh on the battery's side: negative where load and standby exceed
 * solar, −Infinity where the load is more than the equipment can carry.
 */
export function islandAdditions(axis: Axis, plant: Plant, loadKwh: Float64Array, solarKwh: Float64Array): Float64Array {
  const { stepHours, intervals } = axis;
  const standbyKwh = (plant.standbyW / 1000) * stepHours;
  // A limit met exactly is kept: 1e-9 kWh forgives the rounding of watts into energy.
  const limitKwh = Math.min(plant.dischargeLimitKw, plant.inverterKw) * stepHours + 1e-9;
  const chargeKwh = plant.chargeLimitKw * stepHours;
  const chargeEfficiency = plant.coupling === 'dc' ? plant.solarChargeEfficiency : plant.chargeEfficiency;
  const { dischargeEfficiency } = plant;
  const add = new Float64Array(intervals);
  for (let i = 0; i < intervals; i++) {
    const load = loadKwh[i]!;
    const surplus = solarKwh[i]! - load - standbyKwh;
    if (load > limitKwh) add[i] = Number.NEGATIVE_INFINITY;
    else if (surplus < 0) add[i] = surplus / dischargeEfficiency;
    else add[i] = Math.min(surplus, chargeKwh) * chargeEfficiency;
  }
  return add;
}

/**
 * Composed steps, laid out as a heap: node 1 is all of them, node `b` covers those of `2b` and `2b + 1`, leaf `size + i`
 * is step `i`. A node maps `x → min(cap, k·x + add)` and carries every `x ≥ need`.
 */
interface Blocks {
  readonly leaves: number;
  readonly needKwh: Float64Array;
  readonly addKwh: Float64Array;
  readonly capKwh: Float64Array;
  /** `k` by level: entry `l` for blocks of `2^l` steps. */
  readonly keep: Float64Array;
}

function composeBlocks(addKwh: Float64Array, capKwh: number, keepStep: number): Blocks {
  const n = addKwh.length;
  let levels = 0;
  while (1 << levels < n) levels++;
  const leaves = 1 << levels;
  // Blocks that reach past the end stay out of reach, so that a walk goes down to the last step and wraps there.
  const need = new Float64Array(2 * leaves).fill(Number.POSITIVE_INFINITY);
  const add = new Float64Array(2 * leaves);
  const cap = new Float64Array(2 * leaves);
  const keep = new Float64Array(levels + 1);
  keep[0] = keepStep;
  for (let level = 1; level <= levels; level++) keep[level] = keep[level - 1]! ** 2;
  for (let i = 0; i < n; i++) {
    const a = addKwh[i]!;
    need[leaves + i] = a < 0 ? -a / keepStep : 0;
    add[leaves + i] = a;
    cap[leaves + i] = capKwh;
  }
  for (let level = 1; level <= levels; level++) {
    const k = keep[level - 1]!;
    const first = leaves >> level;
    const end = first + (n >> level);
    for (let b = first; b < end; b++) {
      const one = 2 * b;
      const two = one + 1;
      const wants = need[two]!;
      const toReach = (wants - add[one]!) / k;
      const own = need[one]!;
      need[b] = wants > cap[one]! ? Number.POSITIVE_INFINITY : Math.max(own, toReach);
      add[b] = k * add[one]! + add[two]!;
      const carried = k * cap[one]! + add[two]!;
      cap[b] = Math.min(carried, cap[two]!);
    }
  }
  return { leaves, needKwh: need, addKwh: add, capKwh: cap, keep };
}

/** Steps from step `t` with `x` kWh until energy runs out, the last in part; at least `most` where it doesn't before. */
function walkBlocks(
  blocks: Blocks,
  stepAddKwh: Float64Array,
  stepCapKwh: number,
  stepKeep: number,
  t: number,
  x: number,
  most: number,
): number {
  const { leaves, needKwh, addKwh, capKwh, keep } = blocks;
  const n = stepAddKwh.length;
  let steps = 0;
  let node = leaves + t;
  let level = 0;
  while (steps < most) {
    if (x >= needKwh[node]!) {
      const moved = keep[level]! * x + addKwh[node]!;
      x = Math.min(moved, capKwh[node]!);
      // A composed block may leave −1e-16 where stepping leaves 0.
      if (x < 0) x = 0;
      const size = 1 << level;
      steps += size;
      t += size;
      if (t === n) {
        t = 0;
        node = leaves;
        level = 0;
      } else {
        node++;
        if ((node & 1) === 0) {
          node >>= 1;
          level++;
        }
      }
    } else if (level > 0) {
      node <<= 1;
      level--;
    } else {
      const held = stepKeep * x;
      const a = stepAddKwh[t]!;
      if (held + a < 0) return steps + held / -a;
      x = Math.min(stepCapKwh, held + a);
      steps++;
      if (++t === n) t = 0;
      node = leaves + t;
    }
  }
  return steps;
}

function checkLengths(intervals: number, series: Record<string, Float64Array>): void {
  const issues = Object.entries(series)
    .filter(([, values]) => values.length !== intervals)
    .map(([name, values]) => ({
      code: 'length-mismatch',
      where: { path: [name] },
      received: `${values.length} values`,
      expected: `${intervals} values, one an interval of the axis`,
    }));
  if (issues.length > 0) throw new InputError(issues);
}

function checkShare(share: number, name: string): void {
  if (!(share > 0 && share <= 1)) throw outOfRange(name, share, 'more than 0 and at most 1');
}

function outOfRange(name: string, value: number, expected: string): InputError {
  return new InputError([{ code: 'out-of-range', where: { path: [name] }, received: String(value), expected }]);
}
