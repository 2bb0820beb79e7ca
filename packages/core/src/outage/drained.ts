import type { IslandedPlant } from '../plant/index.ts';
import { startingKwh } from '../plant/inside.ts';

/** Scaled sums up to here keep what a step takes to more than 12 digits. */
const LARGEST_SCALE = 1e100;

/** Outages of an island that only ever takes from the battery: one falling sum that all of them are read from. */
export interface Drain {
  /** What all steps up to each have taken, negative, each in kWh of the first step's start: a later kWh counts for more by what decay leaves. */
  readonly sumKwh: Float64Array;
  /** How many kWh at the first step's start one at each step's start comes to; undefined without decay. */
  readonly scale: Float64Array | undefined;
  /** The first step from each on that is more than the equipment can carry; undefined where there is none. */
  readonly tripsAt: Int32Array | undefined;
}

/**
 * The sums, where each step takes something; undefined where a step stores or takes nothing, and where decay is so strong
 * that the sums lose their digits.
 *
 * With a step's map `x → k·x − t` and nothing ever full, what is left after steps i … j is
 *
 *     k^(j−i+1) · (x − Σ t(m) / k^(m−i+1),  i ≤ m ≤ j)
 *
 * so that an outage from i on ends in the first step whose sum falls below `sum(i) − x / k^i`: found by a search, not by
 * stepping. The sums run on past the end as far as an outage is counted, since the axis wraps.
 */
export function drainOf(addKwh: Float64Array, keep: number, mostSteps: number): Drain | undefined {
  const n = addKwh.length;
  const length = n + mostSteps;
  if (keep ** length < 1 / LARGEST_SCALE) return undefined;
  let trips = false;
  for (let i = 0; i < n; i++) {
    const a = addKwh[i]!;
    if (!(a < 0)) return undefined;
    if (a === Number.NEGATIVE_INFINITY) trips = true;
  }
  const sumKwh = new Float64Array(length + 1);
  const scale = keep < 1 ? new Float64Array(length + 1) : undefined;
  const grows = 1 / keep;
  let factor = 1;
  let sum = 0;
  for (let i = 0, t = 0; i < length; i++) {
    if (scale !== undefined) scale[i] = factor;
    factor *= grows;
    const a = addKwh[t]!;
    if (a > Number.NEGATIVE_INFINITY) sum += a * factor;
    sumKwh[i + 1] = sum;
    if (++t === n) t = 0;
  }
  if (!trips) return { sumKwh, scale, tripsAt: undefined };
  const tripsAt = new Int32Array(n);
  let next = length;
  for (let i = length - 1; i >= 0; i--) {
    if (addKwh[i % n] === Number.NEGATIVE_INFINITY) next = i;
    if (i < n) tripsAt[i] = next;
  }
  return { sumKwh, scale, tripsAt };
}

/**
 * Steps that each start lasts, the last in part, no more than `capSteps`; times `stepHours` into `hours`. The search begins
 * where the outage before ended, so that it looks at a few sums a start.
 */
export function followDrain(
  { sumKwh, scale, tripsAt }: Drain,
  island: IslandedPlant,
  capSteps: number,
  socKwh: Float64Array,
  startKwh: number,
  hours: Float64Array,
): void {
  const { stepHours } = island;
  const n = hours.length;
  const mostSteps = sumKwh.length - 1 - n;
  let end = 1;
  for (let i = 0; i < n; i++) {
    const x = startingKwh(island, i === 0 ? startKwh : socKwh[i - 1]!);
    if (x < 0) continue;
    const level = sumKwh[i]! - (scale === undefined ? x : x * scale[i]!);
    const last = i + mostSteps;
    // The first sum below the level lies in (low, high], if it lies before `last` at all.
    let low = i;
    let high = last;
    if (end > i && sumKwh[end]! < level) {
      high = end;
      for (let step = 1; high - step > i; step *= 2) {
        if (sumKwh[high - step]! >= level) {
          low = high - step;
          break;
        }
        high -= step;
      }
    } else {
      if (end > i) low = end;
      for (let step = 1; low + step < last; step *= 2) {
        if (sumKwh[low + step]! < level) {
          high = low + step;
          break;
        }
        low += step;
      }
    }
    while (high - low > 1) {
      const middle = (low + high) >>> 1;
      if (sumKwh[middle]! < level) high = middle;
      else low = middle;
    }
    end = high;
    const before = sumKwh[high - 1]!;
    const after = sumKwh[high]!;
    let steps = after < level ? high - 1 - i + (before - level) / (before - after) : capSteps;
    if (tripsAt !== undefined && tripsAt[i]! - i < steps) steps = tripsAt[i]! - i;
    hours[i] = Math.min(steps, capSteps) * stepHours;
  }
}
