// What is kept for a floor that will rise: docs/concepts/dispatch.md, "A floor that will rise".

import { type CheckedHome, netOf } from './plant.ts';
import type { LaidTariff } from './tariff.ts';

export interface CheckedAhead {
  /** Load isn't carried, and nothing sold, below this. */
  readonly keep: Float64Array;
  /** Bought up to, whatever the price. */
  readonly need: Float64Array;
}

export function aheadOf(home: CheckedHome, laid: LaidTariff): CheckedAhead {
  const { plant, intervals } = home;
  const { count, stepMinutes } = intervals;
  const day = 1440 / stepMinutes;
  const keep = new Float64Array(count).fill(Number.NEGATIVE_INFINITY);
  const need = new Float64Array(count).fill(Number.NEGATIVE_INFINITY);
  const { floors } = plant;
  const prices = laid.importPrice;
  const dayAhead = JSON.stringify(laid.document).includes('"day-ahead"');
  for (let i = 0; i < count; i++) {
    const ahead = Array.from({ length: day }, (_, k) => i + 1 + k).filter((j) => j < count);
    if (!ahead.some((j) => floors[j]! > floors[j - 1]!)) continue;
    const worth = prices[i]! * plant.chargeEfficiency * plant.dischargeEfficiency;
    let back = 0;
    let all = 0;
    for (const j of ahead) {
      const bought = Math.min(plant.charges[j]!, home.importLimit) * plant.chargeEfficiency;
      all += bought;
      if (plant.gridCharging && (dayAhead || prices[j]! < worth)) back += bought;
      else if (j >= day)
        back += Math.min(0.5 * Math.max(0, -netOf(home, j - day).net), plant.charges[j]!) * plant.solarEfficiency;
      const left = (1 - plant.decay) ** (j - i);
      keep[i] = Math.max(keep[i]!, (floors[j]! - back) / left);
      if (plant.gridCharging) need[i] = Math.max(need[i]!, (floors[j]! - all) / left);
    }
  }
  return { keep, need };
}
