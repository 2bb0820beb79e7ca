import type { ValueCurve } from './backward.ts';
import type { Schedule, ValueBounds } from './forward.ts';
import type { StepProblem } from './problem.ts';

/**
 * What a kWh of room under the import cap is worth in each step (0 where the cap doesn't bind): multipliers of the
 * cap that go with one and the same path of values of stored energy, so that they prove a bound.
 *
 * The value of a stored kWh stays the same from step to step (but for decay) while the store is neither full nor
 * at its low end; full, it may rise, at the low end, fall. Each step's decision bounds it from both sides.
 *
 * @param after value after the last step, as the plan was told
 * @param prefer 0: the lowest values that fit, 1: the highest
 */
export function capMultipliers(
  problem: StepProblem,
  schedule: Schedule,
  bounds: ValueBounds,
  after: ValueCurve | undefined,
  prefer: number,
  out: Float64Array,
): void {
  const n = problem.intervals;
  const { lowKwh, highKwh, floorKwh, decay } = problem;
  const { socKwh } = schedule;
  const { atLeast, atMost } = bounds;
  if (n === 0) return;
  const dust = 1e-9 * Math.max(1, highKwh[n - 1]!);
  // Backward: the values that fit everything from here on.
  let low = Number.NEGATIVE_INFINITY;
  let high = Number.POSITIVE_INFINITY;
  const end = socKwh[n - 1]!;
  if (after !== undefined) {
    let level = after.lowKwh;
    for (let j = 0; j < after.count; j++) {
      const value = after.valuePerKwh[j]!;
      if (level <= end - dust) high = value;
      level += after.widthKwh[j]!;
      if (level > end + dust) {
        low = value;
        break;
      }
    }
  } else {
    const value = highKwh[n - 1]! > floorKwh[n - 1]! ? problem.finalValuePerKwh : 0;
    if (end > lowKwh[n - 1]! + dust) high = value;
    if (end < highKwh[n - 1]! - dust) low = value;
  }
  for (let i = n - 1; i >= 0; i--) {
    if (i < n - 1) {
      if (socKwh[i]! >= highKwh[i]! - dust) low = Number.NEGATIVE_INFINITY;
      if (socKwh[i]! <= lowKwh[i]! + dust) high = Number.POSITIVE_INFINITY;
    }
    low = Math.max(low, atLeast[i]!);
    high = Math.min(high, atMost[i]!);
    if (low > high) {
      // Rounding: the decision itself says best.
      low = high = Math.min(Math.max(0.5 * (low + high), atLeast[i]!), atMost[i]!);
    }
    atLeast[i] = low;
    atMost[i] = high;
    const before = i > 0 ? socKwh[i - 1]! : problem.initialKwh;
    if (decay > 0 && before > floorKwh[i]!) {
      low *= 1 - decay;
      high *= 1 - decay;
    }
  }
  // Forward: one path through them, and what it makes of the caps.
  const { netLoadKwh, clippedKwh, importPricePerKwh, importCapKwh, overCapPerKwh } = problem;
  const { chargeEfficiency, dischargeEfficiency } = problem;
  let value = prefer === 0 ? atLeast[0]! : atMost[0]!;
  if (!Number.isFinite(value)) value = prefer === 0 ? atMost[0]! : atLeast[0]!;
  if (!Number.isFinite(value)) value = 0;
  for (let i = 0; i < n; i++) {
    const before = i > 0 ? socKwh[i - 1]! : problem.initialKwh;
    if (i > 0 && decay > 0 && before > floorKwh[i]!) value /= 1 - decay;
    value = Math.min(Math.max(value, atLeast[i]!), atMost[i]!);
    const charge = schedule.chargeKwh[i]!;
    const discharge = schedule.dischargeKwh[i]!;
    const cap = importCapKwh![i]!;
    const over = overCapPerKwh![i]!;
    const clipped = clippedKwh === undefined ? 0 : clippedKwh[i]!;
    const bought = netLoadKwh[i]! - clipped + schedule.curtailedKwh[i]! + charge - discharge;
    let multiplier = 0;
    if (bought > cap + dust) multiplier = over;
    else if (bought >= cap - dust && over > 0) {
      const worth =
        charge > 0 || (discharge === 0 && netLoadKwh[i]! < cap)
          ? value * chargeEfficiency
          : value / dischargeEfficiency + problem.wearPerKwh;
      multiplier = Math.min(Math.max(worth - importPricePerKwh[i]!, 0), over);
    }
    out[i] = multiplier;
  }
}
