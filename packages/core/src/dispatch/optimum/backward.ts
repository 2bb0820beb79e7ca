import type { StepProblem } from './problem.ts';
import { giveBack, lendBytes, lendDoubles } from './scratch.ts';
import { convexHull, MOST_SEGMENTS, makeShape, poolRising, shapeStep } from './shape.ts';

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

/** What the backward pass leaves behind for the forward pass. */
export interface Plan {
  /** The segments of every step's (convex) cost, from the last step to the first; entries end at `used`. */
  readonly kind: Uint8Array;
  readonly slope: Float64Array;
  readonly width: Float64Array;
  /** The stored energy where the value of storing crosses the segment's slope. */
  readonly level: Float64Array;
  readonly used: number;
  /** Segments of each step, and how many of them charge. */
  readonly counts: Uint8Array;
  readonly charges: Uint8Array;
  /** Cost to go from the start: below the cost of any schedule. */
  readonly bound: number;
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
  readonly watch?: (step: number, after: ValueCurve) => void;
}

/**
 * The recursion: value of stored energy from the last step to the first. A step's cost and the value that follows
 * are both convex, so their infimal convolution is a merge of slope segments, trimmed to the band.
 *
 * Tightens `problem.lowKwh` and `highKwh` to what can still meet the later band.
 */
export function planBackward(problem: StepProblem, options: PlanOptions = {}): Plan {
  const { after, fromLowKwh = problem.initialKwh, fromHighKwh = problem.initialKwh, watchFirst = 0, watch } = options;
  const n = problem.intervals;
  const { lowKwh, highKwh, floorKwh, decay } = problem;
  const room = 3 * n + 2 * MOST_SEGMENTS;
  const shape = makeShape(0);
  shape.kind = lendBytes('kind', room);
  shape.slope = lendDoubles('slope', room);
  shape.width = lendDoubles('width', room);
  const hull = makeShape();
  const kept = new Map<number, ValueCurve>();
  const counts = lendBytes('counts', n);
  const charges = lendBytes('charges', n);
  let levels = lendDoubles('level', room);
  let base = 0;
  let convex = true;

  let value = new Float64Array(256);
  let width = new Float64Array(256);
  let nextValue = new Float64Array(256);
  let nextWidth = new Float64Array(256);
  let count = 0;
  let low = n > 0 ? lowKwh[n - 1]! : problem.initialKwh;
  let costAtLow = 0;
  if (after !== undefined) {
    if (after.count + 16 > value.length) {
      value = new Float64Array(2 * after.count + 16);
      width = new Float64Array(2 * after.count + 16);
      nextValue = new Float64Array(2 * after.count + 16);
      nextWidth = new Float64Array(2 * after.count + 16);
    }
    value.set(after.valuePerKwh.subarray(0, after.count));
    width.set(after.widthKwh.subarray(0, after.count));
    count = after.count;
    low = after.lowKwh;
    costAtLow = after.costAtLow;
  } else if (n > 0) {
    const span = highKwh[n - 1]! - low;
    const above = Math.max(0, low - floorKwh[n - 1]!);
    value[0] = highKwh[n - 1]! > floorKwh[n - 1]! ? problem.finalValuePerKwh : 0;
    width[0] = span;
    count = span > 0 ? 1 : 0;
    costAtLow = -problem.finalValuePerKwh * above;
  }

  for (let i = n - 1; i >= 0; i--) {
    if (base + MOST_SEGMENTS > Math.min(levels.length, shape.kind.length, shape.slope.length, shape.width.length)) {
      const room = 2 * base + MOST_SEGMENTS;
      levels = grown(levels, room);
      shape.slope = grown(shape.slope, room);
      shape.width = grown(shape.width, room);
      const kind = new Uint8Array(room);
      kind.set(shape.kind.subarray(0, base));
      shape.kind = kind;
    }
    if (i < watchFirst)
      watch?.(i, {
        lowKwh: low,
        costAtLow,
        count,
        valuePerKwh: value.slice(0, count),
        widthKwh: width.slice(0, count),
      });
    shape.base = base;
    shapeStep(problem, i, shape);
    let stepCount = shape.count;
    if (!shape.convex) {
      convex = false;
      convexHull(shape, hull);
      stepCount = hull.count;
      shape.slope.set(hull.slope.subarray(0, stepCount), base);
      shape.width.set(hull.width.subarray(0, stepCount), base);
      shape.farCost = hull.farCost;
      kept.set(i, {
        lowKwh: low,
        costAtLow,
        count,
        valuePerKwh: value.slice(0, count),
        widthKwh: width.slice(0, count),
      });
    }
    const { slope: stepSlope, width: stepWidth } = shape;
    counts[i] = stepCount;
    charges[i] = shape.charges;

    // The band at the start of the step, and what decay makes of it. It shrinks to what can meet the band after.
    const floor = floorKwh[i]!;
    let fromLow: number;
    let fromHigh: number;
    if (i > 0) {
      fromLow = lowKwh[i - 1]!;
      fromHigh = highKwh[i - 1]!;
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
      if (i > 0) lowKwh[i - 1] = fromLow;
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
    if (i > 0) highKwh[i - 1] = fromHigh;

    if (count + stepCount + 4 > nextValue.length) {
      const size = 2 * nextValue.length + stepCount;
      value = grown(value, size);
      width = grown(width, size);
      nextValue = new Float64Array(size);
      nextWidth = new Float64Array(size);
    }

    // Merge by falling value; skip what lies under the band, stop where it is full.
    let skip = shape.chargeWidth + (heldLow - low);
    let room = heldHigh - heldLow;
    costAtLow += shape.farCost;
    let used = 0;
    let j = 0;
    let k = base;
    const end = base + stepCount;
    let level = low;
    let lastValue = Number.NaN;
    for (;;) {
      let m: number;
      let w: number;
      if (k < end && (j >= count || stepSlope[k]! > value[j]!)) {
        m = stepSlope[k]!;
        w = stepWidth[k]!;
        levels[k] = level;
        k++;
      } else if (j < count) {
        m = value[j]!;
        w = width[j]!;
        level += w;
        j++;
      } else break;
      if (skip > 0) {
        if (w <= skip) {
          skip -= w;
          costAtLow -= m * w;
          continue;
        }
        costAtLow -= m * skip;
        w -= skip;
        skip = 0;
      }
      if (w < room) room -= w;
      else {
        w = room;
        room = 0;
      }
      if (w > 0) {
        if (m === lastValue) nextWidth[used - 1]! += w;
        else {
          nextValue[used] = m;
          nextWidth[used] = w;
          used++;
          lastValue = m;
        }
      }
      if (room === 0 && k === end) break;
    }
    base = end;

    if (decay > 0) {
      // Energy above the floor shrinks before the step: widths grow back, values shrink.
      let plain = heldLow < floor ? floor - heldLow : 0;
      const kink = plain > 0;
      for (let s = 0; s < used; s++) {
        if (plain > 0) {
          const w = nextWidth[s]!;
          if (w <= plain) {
            plain -= w;
            continue;
          }
          nextValue.copyWithin(s + 1, s, used);
          nextWidth.copyWithin(s + 1, s, used);
          nextWidth[s] = plain;
          nextWidth[s + 1] = w - plain;
          used++;
          plain = 0;
          continue;
        }
        nextValue[s]! *= 1 - decay;
        nextWidth[s]! /= 1 - decay;
      }
      // Where stored energy is a burden, a rising floor bends the value the wrong way: take what lies under it.
      if (kink && used > 0 && nextValue[used - 1]! < 0) {
        const pooled = poolRising(nextValue, nextWidth, used);
        if (pooled < used) convex = false;
        used = pooled;
      }
    }
    low = fromLow;
    count = used;
    const freeValue = value;
    const freeWidth = width;
    value = nextValue;
    width = nextWidth;
    nextValue = freeValue;
    nextWidth = freeWidth;
  }
  return {
    kind: shape.kind,
    slope: shape.slope,
    width: shape.width,
    level: levels,
    used: base,
    counts,
    charges,
    bound: costAtLow,
    convex,
    kept,
    start: { lowKwh: low, costAtLow, count, valuePerKwh: value.slice(0, count), widthKwh: width.slice(0, count) },
  };
}

/** Gives a plan's arrays back for the next call. The plan must not be read after. */
export function releasePlan(plan: Plan): void {
  giveBack('kind', plan.kind);
  giveBack('slope', plan.slope);
  giveBack('width', plan.width);
  giveBack('level', plan.level);
  giveBack('counts', plan.counts);
  giveBack('charges', plan.charges);
}

function grown(array: Float64Array, size: number): Float64Array<ArrayBuffer> {
  const out = new Float64Array(size);
  out.set(array.length > size ? array.subarray(0, size) : array);
  return out;
}

/** Narrows the band of each step to what the start can reach, so that some schedule always exists. */
export function makeReachable(problem: StepProblem): void {
  const { intervals, lowKwh, highKwh, floorKwh, initialKwh, decay } = problem;
  let easy = true;
  for (let i = 0; i < intervals && easy; i++)
    easy =
      lowKwh[i]! <= (i === 0 ? initialKwh : lowKwh[i - 1]!) && highKwh[i]! >= (i === 0 ? initialKwh : highKwh[i - 1]!);
  if (easy) return;
  const shape = makeShape();
  let most = initialKwh;
  let least = initialKwh;
  for (let i = 0; i < intervals; i++) {
    shapeStep(problem, i, shape);
    const floor = floorKwh[i]!;
    const mostHeld = (most > floor ? most - decay * (most - floor) : most) + shape.chargeWidth;
    const leastHeld = (least > floor ? least - decay * (least - floor) : least) - shape.dischargeWidth;
    lowKwh[i] = Math.min(lowKwh[i]!, mostHeld);
    least = Math.max(lowKwh[i]!, leastHeld);
    highKwh[i] = Math.max(highKwh[i]!, least);
    most = Math.min(highKwh[i]!, mostHeld);
  }
}
