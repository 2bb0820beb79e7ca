// What is kept for a floor that will rise: docs/concepts/dispatch.md, "A floor that will rise".

import { type Document, listOf } from './days.ts';
import { type CheckedHome, netOf } from './plant.ts';
import type { LaidTariff } from './tariff.ts';

export interface CheckedAhead {
  /** Load isn't carried, and nothing sold, below this. */
  readonly keep: Float64Array;
  /** Bought up to, whatever the price. */
  readonly need: Float64Array;
  /** The same with no interval of those that a cap holds in importing more than so much, kWh. */
  needUnder(i: number, cap: number): number;
}

/** Whether import of an interval counts towards a charge on power; of any where there is no such charge. */
export function countsForDemand(laid: LaidTariff, i: number): boolean {
  const version = laid.versionOfDay(laid.intervals.day[i]!);
  const charges = listOf(version.document.demand as Document[]);
  return charges.length === 0 || charges.some((charge) => laid.mostlyWithin(version, charge, i));
}

export function aheadOf(home: CheckedHome, laid: LaidTariff): CheckedAhead {
  const { plant, intervals } = home;
  const { count, stepMinutes } = intervals;
  const day = 1440 / stepMinutes;
  const keep = new Float64Array(count).fill(Number.NEGATIVE_INFINITY);
  const need = new Float64Array(count).fill(Number.NEGATIVE_INFINITY);
  const prices = laid.importPrice;
  const stepHours = stepMinutes / 60;
  const fillHours = (plant.capacity / (Math.max(...plant.charges) * plant.chargeEfficiency)) * stepHours;
  const looked = Math.ceil(Math.min(168, Math.max(24, fillHours)) / stepHours - 1e-9);
  const dayAhead = JSON.stringify(laid.document).includes('"day-ahead"');
  const aheadOfInterval = (i: number) =>
    Array.from({ length: looked - 1 }, (_, k) => i + 1 + k).filter((j) => j < count);
  // The last day before i whose hour is that of j.
  const lastLike = (i: number, j: number) => j - day * (Math.floor((j - i) / day) + 1);
  const boughtIn = (i: number, j: number, limit: number) =>
    Math.min(plant.charges[j]!, Math.max(0, limit - usualLoad(i, lastLike(i, j)))) * plant.chargeEfficiency;
  for (let i = 0; i < count; i++) {
    const ahead = aheadOfInterval(i);
    const floors = plant.floorsKnownAt(i);
    if (!ahead.some((j) => floors[j]! > floors[j - 1]!)) continue;
    const worth = prices[i]! * plant.chargeEfficiency * plant.dischargeEfficiency;
    let back = 0;
    let all = 0;
    for (const j of ahead) {
      const last = lastLike(i, j);
      const bought = boughtIn(i, j, home.importLimit);
      all = all * (1 - plant.decay) + bought;
      back *= 1 - plant.decay;
      if (plant.gridCharging && (dayAhead || prices[j]! < worth)) back += bought;
      else if (last >= 0)
        back += Math.min(0.5 * Math.max(0, -netOf(home, last).net), plant.charges[j]!) * plant.solarEfficiency;
      const left = (1 - plant.decay) ** (j - i);
      keep[i] = Math.max(keep[i]!, (floors[j]! - back) / left);
      if (plant.gridCharging) need[i] = Math.max(need[i]!, (floors[j]! - all) / left);
    }
  }
  return { keep, need, needUnder };

  function needUnder(i: number, cap: number): number {
    if (need[i] === Number.NEGATIVE_INFINITY) return Number.NEGATIVE_INFINITY;
    let all = 0;
    const floors = plant.floorsKnownAt(i);
    return Math.max(
      ...aheadOfInterval(i).map((j) => {
        const limit = countsForDemand(laid, j) ? Math.min(cap, home.importLimit) : home.importLimit;
        all = all * (1 - plant.decay) + boughtIn(i, j, limit);
        return (floors[j]! - all) / (1 - plant.decay) ** (j - i);
      }),
    );
  }

  /** The highest net load of that hour in a week; where there is no day before, the highest so far. */
  function usualLoad(i: number, last: number): number {
    const looks =
      last < 0
        ? Array.from({ length: i }, (_, k) => k)
        : Array.from({ length: 7 }, (_, k) => last - k * day).filter((k) => k >= 0);
    return Math.max(0, ...looks.map((k) => netOf(home, k).net));
  }
}
