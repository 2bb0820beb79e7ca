import type { ValueCurve } from './backward.ts';

/**
 * The higher of two costs to go at every stored energy. Both are convex, over the same band.
 * Returns `a` itself where `b` nowhere rises above it by more than `tolerance`.
 */
export function higherOf(a: ValueCurve, b: ValueCurve, tolerance: number): ValueCurve {
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
  /** Cost of a less cost of b, here. */
  let ahead = a.costAtLow - b.costAtLow;
  let raised = ahead < -tolerance;
  while (ja < a.count && jb < b.count) {
    const width = Math.min(leftA, leftB);
    const va = a.valuePerKwh[ja]!;
    const vb = b.valuePerKwh[jb]!;
    const then = ahead - (va - vb) * width;
    if (ahead >= 0 && then >= 0) add(va, width);
    else if (ahead <= 0 && then <= 0) add(vb, width);
    else {
      const until = Math.min(width, ahead / (va - vb));
      add(ahead > 0 ? va : vb, until);
      add(ahead > 0 ? vb : va, width - until);
    }
    ahead = then;
    if (ahead < -tolerance) raised = true;
    leftA -= width;
    leftB -= width;
    if (leftA <= 0) leftA = a.widthKwh[++ja] ?? 0;
    if (leftB <= 0) leftB = b.widthKwh[++jb] ?? 0;
  }
  if (!raised) return a;
  return { lowKwh: a.lowKwh, costAtLow: Math.max(a.costAtLow, b.costAtLow), count, valuePerKwh, widthKwh };
}
