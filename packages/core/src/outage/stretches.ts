import type { IslandedPlant } from '../plant/index.ts';
import { startingKwh } from '../plant/inside.ts';

/** Scaled sums up to here keep what a step takes to more than 12 digits. */
const LARGEST_SCALE = 1e100;
/** A start that takes more looks than this costs more than walking composed blocks would. */
const SHORT_LOOKS = 64;
/** Blocks are composed once long outages have cost about as much: this many looks an interval. */
const LOOKS_WORTH_BLOCKS = 3;

/** Everything that the hours of every start follow from. */
export interface Outages {
  readonly island: IslandedPlant;
  readonly addKwh: Float64Array;
  readonly capSteps: number;
  readonly socKwh: Float64Array;
  readonly startKwh: number;
}

/** Stretches of steps that only take from the battery: one falling sum that outages in them are read from. */
export interface Stretches {
  /** What all steps up to each have taken, negative, each in kWh of the first step's start: a later kWh counts for more by what decay leaves. */
  readonly sumKwh: Float64Array;
  /** How many kWh at the first step's start one at each step's start comes to. */
  readonly scale: Float64Array;
  /** The first step from each on that doesn't take: it stores, does nothing, or is more than the equipment can carry. */
  readonly ends: Int32Array;
}

/**
 * The sums; undefined where decay is so strong that they lose their digits.
 *
 * With a step's map `x → k·x − t` and nothing ever full, what is left after steps i … j is
 *
 *     k^(j−i+1) · (x − Σ t(m) / k^(m−i+1),  i ≤ m ≤ j)
 *
 * so that within a stretch an outage from i on ends in the first step whose sum falls below `sum(i) − x / k^i`: found by a
 * search, not by stepping. The sums run on past the end as far as an outage is counted, since the axis wraps.
 */
export function stretchesOf(addKwh: Float64Array, keep: number, capSteps: number): Stretches | undefined {
  const n = addKwh.length;
  const length = n + Math.ceil(capSteps);
  if (keep ** length < 1 / LARGEST_SCALE) return undefined;
  const sumKwh = new Float64Array(length + 1);
  const scale = new Float64Array(length + 1);
  const ends = new Int32Array(length + 1);
  const grows = 1 / keep;
  let factor = 1;
  let sum = 0;
  for (let i = 0, t = 0; i < length; i++) {
    scale[i] = factor;
    factor *= grows;
    const a = addKwh[t]!;
    if (a < 0 && a > Number.NEGATIVE_INFINITY) sum += a * factor;
    else ends[i] = 1;
    sumKwh[i + 1] = sum;
    if (++t === n) t = 0;
  }
  scale[length] = factor;
  let end = length;
  for (let i = length; i >= 0; i--) {
    if (ends[i] === 1) end = i;
    ends[i] = end;
  }
  return { sumKwh, scale, ends };
}

/**
 * Hours of each start into `hours`: stretches that take by a search that begins where the outage before ended, all other
 * steps one by one. Gives up once long outages have cost more than composing blocks would.
 *
 * @returns the first start that is left; all are done where it is the number of starts
 */
export function followStretches(
  { sumKwh, scale, ends }: Stretches,
  { island, addKwh, capSteps, socKwh, startKwh }: Outages,
  hours: Float64Array,
): number {
  const { stepHours } = island;
  // A plus tells the engine that these are numbers, so that it does not look in every step.
  const capKwh = +island.capacityKwh;
  const keep = 1 - island.decayShare;
  const n = hours.length;
  const mostSteps = Math.ceil(capSteps);
  let spare = LOOKS_WORTH_BLOCKS * n;
  let near = 0;
  for (let i = 0; i < n; i++) {
    let x = startingKwh(island, i === 0 ? startKwh : socKwh[i - 1]!);
    if (x < 0) continue;
    const last = i + mostSteps;
    let steps = capSteps;
    let looks = 0;
    for (let t = i; t < last; ) {
      const end = Math.min(ends[t]!, last);
      if (end > t) {
        const level = sumKwh[t]! - x * scale[t]!;
        if (sumKwh[end]! < level) {
          near = firstBelow(sumKwh, level, t, end, near);
          const before = sumKwh[near - 1]!;
          steps = near - 1 - i + (before - level) / (before - sumKwh[near]!);
          break;
        }
        x = (sumKwh[end]! - level) / scale[end]!;
        t = end;
        looks++;
        if (t === last) break;
      }
      const a = addKwh[t < n ? t : t - n]!;
      if (a < 0) {
        steps = t - i;
        break;
      }
      x = Math.min(keep * x + a, capKwh);
      t++;
      looks++;
    }
    hours[i] = Math.min(steps, capSteps) * stepHours;
    if (looks > SHORT_LOOKS) {
      spare -= looks - SHORT_LOOKS;
      if (spare < 0) return i + 1;
    }
  }
  return n;
}

/** The first place in (low, high] of a falling sum that lies below `level`; the sum at `high` does. Looks around `near` first. */
function firstBelow(sumKwh: Float64Array, level: number, low: number, high: number, near: number): number {
  let above = low;
  let below = high;
  if (near > low && near < high) {
    if (sumKwh[near]! < level) {
      below = near;
      for (let step = 1; below - step > low; step *= 2) {
        if (sumKwh[below - step]! >= level) {
          above = below - step;
          break;
        }
        below -= step;
      }
    } else {
      above = near;
      for (let step = 1; above + step < high; step *= 2) {
        if (sumKwh[above + step]! < level) {
          below = above + step;
          break;
        }
        above += step;
      }
    }
  }
  while (below - above > 1) {
    const middle = (above + below) >>> 1;
    if (sumKwh[middle]! < level) below = middle;
    else above = middle;
  }
  return below;
}
