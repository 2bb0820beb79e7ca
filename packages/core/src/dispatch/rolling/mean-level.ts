import type { ValueCurve } from '../optimum/backward.ts';

/** Values this much apart, as a share, are one: seven equal values do not add up to seven times one. */
const SAME = 1e-9;

/**
 * Stored energies up to which a kWh is worth at least each price, on the average of several futures.
 *
 * @param curves values of stored energy, over one and the same band
 * @param prices money a kWh, falling
 * @param out kWh, rising; overwritten
 */
export function meanLevels(curves: readonly ValueCurve[], prices: Float64Array, out: Float64Array): void {
  const k = curves.length;
  const at = new Int32Array(k);
  const left = new Float64Array(k);
  let sum = 0;
  let level = 0;
  let open = k;
  for (let c = 0; c < k; c++) {
    const curve = curves[c]!;
    level += curve.lowKwh / k;
    if (curve.count === 0) open--;
    else {
      left[c] = curve.widthKwh[0]!;
      sum += curve.valuePerKwh[0]!;
    }
  }
  let p = 0;
  while (p < prices.length) {
    if (open < k) break;
    const mean = sum / k;
    while (p < prices.length && prices[p]! - mean > SAME * Math.abs(mean)) out[p++] = level;
    let width = Number.POSITIVE_INFINITY;
    for (let c = 0; c < k; c++) if (left[c]! < width) width = left[c]!;
    level += width;
    for (let c = 0; c < k; c++) {
      left[c] = left[c]! - width;
      if (left[c]! > 1e-12) continue;
      const curve = curves[c]!;
      sum -= curve.valuePerKwh[at[c]!]!;
      at[c] = at[c]! + 1;
      if (at[c]! >= curve.count) open--;
      else {
        left[c] = left[c]! + curve.widthKwh[at[c]!]!;
        sum += curve.valuePerKwh[at[c]!]!;
      }
    }
  }
  // Worth it all the way to the top.
  for (; p < prices.length; p++) out[p] = Number.POSITIVE_INFINITY;
}
