import type { ValueCurve } from './backward.ts';
import { poolRising } from './shape.ts';

/**
 * The higher of two costs to go at every stored energy. Both are convex, over the same band.
 * Returns `a` itself where `b` nowhere rises above it by more than `tolerance`.
 */
export function higherOf(a: ValueCurve, b: ValueCurve, tolerance: number): ValueCurve {
  let raised = a.costAtLow - b.costAtLow < -tolerance;
  const higher = walk(a, b, (add, width, va, vb, ahead, then) => {
    if (then < -tolerance) raised = true;
    if (ahead >= 0 && then >= 0) add(va, width);
    else if (ahead <= 0 && then <= 0) add(vb, width);
    else {
      const until = Math.min(width, ahead / (va - vb));
      add(ahead > 0 ? va : vb, until);
      add(ahead > 0 ? vb : va, width - until);
    }
  });
  return raised ? { ...higher, costAtLow: Math.max(a.costAtLow, b.costAtLow) } : a;
}

/** The highest convex cost to go that lies above neither of two. */
export function lowerOf(a: ValueCurve, b: ValueCurve): ValueCurve {
  const lower = walk(a, b, (add, width, va, vb, ahead, then) => {
    if (ahead >= 0 && then >= 0) add(vb, width);
    else if (ahead <= 0 && then <= 0) add(va, width);
    else {
      const until = Math.min(width, ahead / (va - vb));
      add(ahead > 0 ? vb : va, until);
      add(ahead > 0 ? va : vb, width - until);
    }
  });
  return {
    ...lower,
    costAtLow: Math.min(a.costAtLow, b.costAtLow),
    count: poolRising(lower.valuePerKwh, lower.widthKwh, lower.count),
  };
}

/** Visits the stretches on which both curves are straight; `ahead` and `then`: cost of a less that of b at their ends. */
function walk(
  a: ValueCurve,
  b: ValueCurve,
  visit: (
    add: (value: number, width: number) => void,
    width: number,
    va: number,
    vb: number,
    ahead: number,
    then: number,
  ) => void,
): ValueCurve {
  const most = 2 * (a.count + b.count) + 2;
  const valuePerKwh = new Float64Array(most);
  const widthKwh = new Float64Array(most);
  let count = 0;
  const add = (value: number, width: number) => {
    if (!(width > 0)) return;
    if (count > 0 && valuePerKwh[count - 1] === value) widthKwh[count - 1]! += width;
    else {
      valuePerKwh[count] = value;
      widthKwh[count++] = width;
    }
  };
  let ja = 0;
  let jb = 0;
  let leftA = a.widthKwh[0] ?? 0;
  let leftB = b.widthKwh[0] ?? 0;
  let ahead = a.costAtLow - b.costAtLow;
  while (ja < a.count && jb < b.count) {
    const width = Math.min(leftA, leftB);
    const va = a.valuePerKwh[ja]!;
    const vb = b.valuePerKwh[jb]!;
    const then = ahead - (va - vb) * width;
    visit(add, width, va, vb, ahead, then);
    ahead = then;
    leftA -= width;
    leftB -= width;
    if (leftA <= 0) leftA = a.widthKwh[++ja] ?? 0;
    if (leftB <= 0) leftB = b.widthKwh[++jb] ?? 0;
  }
  return { lowKwh: a.lowKwh, costAtLow: a.costAtLow, count, valuePerKwh, widthKwh };
}

/** Cost to go above that at the curve's low end: −Σ value × width up to `socKwh`. */
export function costToGo(curve: ValueCurve, socKwh: number): number {
  let left = socKwh - curve.lowKwh;
  let cost = 0;
  for (let j = 0; j < curve.count && left > 0; j++) {
    const take = Math.min(left, curve.widthKwh[j]!);
    cost -= take * curve.valuePerKwh[j]!;
    left -= take;
  }
  return cost;
}

/** Cost to go with `socKwh` stored. */
export function costAt(curve: ValueCurve, socKwh: number): number {
  return curve.costAtLow + costToGo(curve, socKwh);
}
