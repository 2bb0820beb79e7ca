import type { StepProblem } from './problem.ts';
import type { Scratch } from './scratch.ts';
import { convexHull, MOST_SEGMENTS, makeShape, poolRising, shapeRun } from './shape.ts';

/**
 * Value of stored energy at one instant: what a further kWh saves, falling in steps from `lowKwh` upwards.
 * Costs are convex in stored energy, so that the steps never rise.
 */
export interface ValueCurve {
  readonly lowKwh: number;
  /** Cost to go with `lowKwh` stored. */
  readonly costAtLow: number;
  readonly count: number;
  readonly valuePerKwh: Float64Array;
  readonly widthKwh: Float64Array;
}

/** Less than this over the edge of a band is rounding, kWh. */
const EDGE_KWH = 1e-9;

/** Where less than this is kept of the segments, their numbers are written out anew. */
const LEAST_KEPT = 1e-30;

/** What the backward pass leaves behind for the forward pass. */
export interface Plan {
  /** The segments of every run's (convex) cost, from the last run to the first; entries end at `used`. */
  readonly kind: Uint8Array;
  readonly slope: Float64Array;
  readonly width: Float64Array;
  /** The stored energy where the value of storing crosses the segment's slope. */
  readonly level: Float64Array;
  readonly used: number;
  /** Runs of steps that were planned as one, from the last to the first. */
  readonly runs: number;
  /** Steps of each run, its segments, and how many of them charge. */
  readonly lengths: Uint32Array;
  readonly counts: Uint8Array;
  readonly charges: Uint8Array;
  /** Cost to go from the start: below the cost of any schedule. */
  readonly bound: number;
  /** What a kWh more of the watched cap makes of it and of the widths of `start`; undefined where none is watched. */
  readonly rise: { readonly costAtLow: number; readonly widthKwh: Float64Array } | undefined;
  /** Every step was convex: the bound is reached. */
  readonly convex: boolean;
  /** Value after each step that is not convex. */
  readonly kept: ReadonlyMap<number, ValueCurve>;
  /** Value at the start of the first step. */
  readonly start: ValueCurve;
}

/** What a plan may be told: the value after the last step, and the stored energies to plan for at the start. */
export interface PlanOptions {
  /** @defaultValue energy above the floor is worth the problem's final value */
  readonly after?: ValueCurve | undefined;
  /** @defaultValue `initialKwh` alone */
  readonly fromLowKwh?: number;
  readonly fromHighKwh?: number;
  /** Called with the value after each of the first steps, the last of them first. */
  readonly watchFirst?: number;
  /** Size of the caps whose worth is wanted. */
  readonly watchedCapKwh?: number;
  readonly watch?: (step: number, after: ValueCurve) => void;
}

/**
 * The recursion: value of stored energy from the last step to the first. A step's cost and the value that follows
 * are both convex, so their infimal convolution is a merge of slope segments, trimmed to the band. Runs of steps that
 * behave as one are taken at once.
 *
 * Tightens `problem.lowKwh` and `highKwh` to what can still meet the later band.
 */
export function planBackward(problem: StepProblem, options?: PlanOptions): Plan {
  const {
    after,
    fromLowKwh = problem.initialKwh,
    fromHighKwh = problem.initialKwh,
    watchFirst = 0,
    watch,
  } = options ?? {};
  const watchedCapKwh = options?.watchedCapKwh;
  const rising = watchedCapKwh !== undefined;
  const n = problem.intervals;
  const { lowKwh, highKwh, floorKwh, decay, scratch } = problem;
  const room = 3 * n + 2 * MOST_SEGMENTS;
  const earliest = Math.max(1, watchFirst);
  const whole = decay === 0;
  const shape = makeShape(0);
  shape.kind = scratch.bytes('kind', room);
  shape.slope = scratch.doubles('slope', room);
  shape.width = scratch.doubles('width', room);
  if (rising) {
    shape.watchedCapKwh = watchedCapKwh;
    shape.rise = scratch.doubles('rise', room);
  }
  const hull = makeShape();
  const keptCurves = new Map<number, ValueCurve>();
  const counts = scratch.bytes('counts', n);
  const charges = scratch.bytes('charges', n);
  const lengths = scratch.counts('lengths', n);
  let runs = 0;
  let levels = scratch.doubles('level', room);
  let space = Math.min(levels.length, shape.kind.length, shape.slope.length, shape.width.length);
  if (rising) space = Math.min(space, shape.rise.length);
  let base = 0;
  let convex = true;

  // The curve stands in [first, last) of these, with room on both sides: a step inserts few segments and cuts the ends.
  let size = 512;
  let value = new Float64Array(size);
  let width = new Float64Array(size);
  /**
   * What decay has made of all segments together: each is worth `value · kept` and is `width ÷ kept` wide. A step's decay
   * is one factor so, not one a segment, as long as no floor rises: what lies under it doesn't decay.
   * Curves that are handed on are written out, segment by segment, so that equal values stay equal to the last digit.
   */
  let kept = 1;
  const together = options === undefined && decay > 0 && neverUnderFloor(problem, fromLowKwh);
  /** What a kWh more of the watched cap makes of the widths, and of the cost at the low end. */
  let rise = new Float64Array(rising ? size : 0);
  let costRise = 0;
  let first = size >> 1;
  let last = first;
  let low = n > 0 ? lowKwh[n - 1]! : problem.initialKwh;
  let costAtLow = 0;
  if (after !== undefined) {
    if (2 * after.count + 64 > size) {
      size = 4 * after.count;
      value = new Float64Array(size);
      width = new Float64Array(size);
      if (rising) rise = new Float64Array(size);
    }
    first = (size - after.count) >> 1;
    value.set(after.valuePerKwh.subarray(0, after.count), first);
    width.set(after.widthKwh.subarray(0, after.count), first);
    last = first + after.count;
    low = after.lowKwh;
    costAtLow = after.costAtLow;
  } else if (n > 0) {
    const span = highKwh[n - 1]! - low;
    const above = Math.max(0, low - floorKwh[n - 1]!);
    value[first] = highKwh[n - 1]! > floorKwh[n - 1]! ? problem.finalValuePerKwh : 0;
    width[first] = span;
    if (span > 0) last++;
    costAtLow = -problem.finalValuePerKwh * above;
  }
  const curve = (): ValueCurve => ({
    lowKwh: low,
    costAtLow,
    count: last - first,
    valuePerKwh: times(value.subarray(first, last), kept),
    widthKwh: times(width.subarray(first, last), 1 / kept),
  });

  // A step that ends in a value handed on may end outside of its own band, as none before it may.
  const endsOutside = after !== undefined && reachesBeyond(after, lowKwh[n - 1]!, highKwh[n - 1]!);
  for (let i = n - 1; i >= 0; ) {
    if (base + MOST_SEGMENTS > space) {
      const room = 2 * base + MOST_SEGMENTS;
      levels = grown(levels, room);
      shape.slope = grown(shape.slope, room);
      shape.width = grown(shape.width, room);
      if (rising) shape.rise = grown(shape.rise, room);
      const kind = new Uint8Array(room);
      kind.set(shape.kind.subarray(0, base));
      shape.kind = kind;
      space = room;
    }
    if (i < watchFirst) watch?.(i, curve());
    shape.base = base;
    const alone = i === n - 1 && endsOutside;
    const start = shapeRun(problem, i, whole && !alone && i > earliest ? earliest : i, shape);
    let stepCount = shape.count;
    if (!shape.convex) {
      convex = false;
      convexHull(shape, hull);
      stepCount = hull.count;
      shape.slope.set(hull.slope.subarray(0, stepCount), base);
      shape.width.set(hull.width.subarray(0, stepCount), base);
      shape.farCost = hull.farCost;
      if (rising) shape.rise.fill(0, base, base + stepCount);
      keptCurves.set(i, curve());
    }
    const { slope: stepSlope, width: stepWidth, rise: stepRise } = shape;
    counts[runs] = stepCount;
    charges[runs] = shape.charges;
    lengths[runs++] = i - start + 1;

    // The band at the start of the step, and what decay makes of it. It shrinks to what can meet the band after.
    const floor = floorKwh[start]!;
    let fromLow: number;
    let fromHigh: number;
    if (start > 0) {
      fromLow = lowKwh[start - 1]!;
      fromHigh = highKwh[start - 1]!;
    } else {
      fromLow = fromLowKwh;
      fromHigh = fromHighKwh;
    }
    let heldLow = fromLow > floor ? fromLow - decay * (fromLow - floor) : fromLow;
    let heldHigh = fromHigh > floor ? fromHigh - decay * (fromHigh - floor) : fromHigh;
    const nearLow = low - shape.chargeWidth;
    if (heldLow < nearLow) {
      heldLow = nearLow;
      fromLow = heldLow > floor ? floor + (heldLow - floor) / (1 - decay) : heldLow;
      if (start > 0) lowKwh[start - 1] = fromLow;
    }
    const farHigh = highKwh[i]! + shape.dischargeWidth;
    if (heldHigh > farHigh) {
      heldHigh = farHigh;
      fromHigh = heldHigh > floor ? floor + (heldHigh - floor) / (1 - decay) : heldHigh;
    }
    if (heldHigh < heldLow) {
      heldHigh = heldLow;
      fromHigh = fromLow;
    }
    if (start > 0) highKwh[start - 1] = fromHigh;

    if (first < MOST_SEGMENTS || last + MOST_SEGMENTS + 2 > size) {
      const count = last - first;
      if (4 * (count + 2 * MOST_SEGMENTS) > size) size *= 2;
      const middle = (size - count) >> 1;
      const movedValue = new Float64Array(size);
      const movedWidth = new Float64Array(size);
      movedValue.set(value.subarray(first, last), middle);
      movedWidth.set(width.subarray(first, last), middle);
      if (rising) {
        const movedRise = new Float64Array(size);
        movedRise.set(rise.subarray(first, last), middle);
        rise = movedRise;
      }
      value = movedValue;
      width = movedWidth;
      first = middle;
      last = middle + count;
    }

    // Insert the run's segments by falling value, after equals; a shift moves the shorter side.
    const end = base + stepCount;
    let level = low * kept;
    let j = first;
    for (let k = base; k < end; k++) {
      const m = stepSlope[k]! / kept;
      const w = stepWidth[k]! * kept;
      while (j < last && value[j]! >= m) level += width[j++]!;
      levels[k] = level / kept;
      if (w <= 0) continue;
      if (j > first && value[j - 1] === m) {
        width[j - 1]! += w;
        if (rising) rise[j - 1]! += stepRise[k]! * kept;
        continue;
      }
      if (j - first < last - j) {
        first--;
        for (let s = first; s < j - 1; s++) {
          value[s] = value[s + 1]!;
          width[s] = width[s + 1]!;
        }
        if (rising) for (let s = first; s < j - 1; s++) rise[s] = rise[s + 1]!;
      } else {
        for (let s = last; s > j; s--) {
          value[s] = value[s - 1]!;
          width[s] = width[s - 1]!;
        }
        if (rising) for (let s = last; s > j; s--) rise[s] = rise[s - 1]!;
        last++;
        j++;
      }
      value[j - 1] = m;
      width[j - 1] = w;
      if (rising) rise[j - 1] = stepRise[k]! * kept;
    }
    base = end;

    // Cut what lies under the band, and what lies above it.
    let skip = (shape.chargeWidth + (heldLow - low)) * kept;
    costAtLow += shape.farCost;
    let cutRise = 0;
    if (rising) costRise += shape.farCostRise;
    while (skip > 0 && first < last) {
      const w = width[first]!;
      if (w <= skip) {
        skip -= w;
        costAtLow -= value[first]! * w;
        if (rising) {
          costRise -= value[first]! * rise[first]!;
          cutRise -= rise[first]!;
        }
        first++;
      } else {
        costAtLow -= value[first]! * skip;
        width[first] = w - skip;
        if (rising) {
          costRise -= value[first]! * cutRise;
          rise[first]! -= cutRise;
        }
        break;
      }
    }
    let left = (heldHigh - heldLow) * kept;
    cutRise = 0;
    for (j = first; j < last; j++) {
      const w = width[j]!;
      if (w >= left) {
        width[j] = left;
        if (rising) rise[j] = cutRise;
        last = left > 0 ? j + 1 : j;
        break;
      }
      left -= w;
      if (rising) cutRise -= rise[j]!;
    }

    if (decay > 0) {
      // Energy above the floor shrinks before the step: widths grow back, values shrink.
      let plain = heldLow < floor ? floor - heldLow : 0;
      const kink = plain > 0;
      if (together) {
        kept *= 1 - decay;
        if (kept < LEAST_KEPT) {
          for (let s = first; s < last; s++) {
            value[s]! *= kept;
            width[s]! /= kept;
            if (rising) rise[s]! /= kept;
          }
          kept = 1;
        }
      } else
        for (let s = first; s < last; s++) {
          if (plain > 0) {
            const w = width[s]!;
            if (w <= plain) {
              plain -= w;
              continue;
            }
            value.copyWithin(s + 1, s, last);
            width.copyWithin(s + 1, s, last);
            if (rising) rise.copyWithin(s + 1, s, last);
            width[s] = plain;
            width[s + 1] = w - plain;
            last++;
            plain = 0;
            continue;
          }
          value[s]! *= 1 - decay;
          width[s]! /= 1 - decay;
          if (rising) rise[s]! /= 1 - decay;
        }
      // Where stored energy is a burden, a rising floor bends the value the wrong way: take what lies under it.
      if (kink && last > first && value[last - 1]! < 0) {
        const count = last - first;
        const pooled = poolRising(value.subarray(first, last), width.subarray(first, last), count);
        if (pooled < count) convex = false;
        last = first + pooled;
      }
    }
    low = fromLow;
    i = start - 1;
  }
  if (rising) scratch.giveBack('rise', shape.rise);
  return {
    kind: shape.kind,
    slope: shape.slope,
    width: shape.width,
    level: levels,
    used: base,
    runs,
    lengths,
    counts,
    charges,
    bound: costAtLow,
    rise: rising ? { costAtLow: costRise, widthKwh: times(rise.subarray(first, last), 1 / kept) } : undefined,
    convex,
    kept: keptCurves,
    start: curve(),
  };
}

/** Gives a plan's arrays back for the next call. The plan must not be read after. */
export function releasePlan(plan: Plan, scratch: Scratch): void {
  scratch.giveBack('kind', plan.kind);
  scratch.giveBack('slope', plan.slope);
  scratch.giveBack('width', plan.width);
  scratch.giveBack('level', plan.level);
  scratch.giveBack('lengths', plan.lengths);
  scratch.giveBack('counts', plan.counts);
  scratch.giveBack('charges', plan.charges);
}

/** Whether no step begins with less than its floor, whatever is done. */
function neverUnderFloor({ intervals, lowKwh, floorKwh }: StepProblem, fromLowKwh: number): boolean {
  for (let i = 1; i < intervals; i++) if (lowKwh[i - 1]! < floorKwh[i]!) return false;
  return intervals === 0 || fromLowKwh >= floorKwh[0]!;
}

/** Whether a value is of energy under a band, or above it. */
function reachesBeyond({ lowKwh, count, widthKwh }: ValueCurve, low: number, high: number): boolean {
  let top = lowKwh;
  for (let k = 0; k < count; k++) top += widthKwh[k]!;
  return lowKwh < low - EDGE_KWH || top > high + EDGE_KWH;
}

function times(array: Float64Array, factor: number): Float64Array<ArrayBuffer> {
  return array.map((x) => x * factor);
}

function grown(array: Float64Array, size: number): Float64Array<ArrayBuffer> {
  const out = new Float64Array(size);
  out.set(array.length > size ? array.subarray(0, size) : array);
  return out;
}
