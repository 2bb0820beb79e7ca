// The rule `window`: docs/concepts/dispatch.md, "window".

import { type Document, listOf } from './days.ts';
import { type CheckedFlow, type CheckedHome, type CheckedLevels, netOf, runRule } from './plant.ts';
import type { LaidTariff, Version } from './tariff.ts';

/**
 * Which intervals are on-peak: the windows that the tariff calls "peak" or, left to itself, the dearest window of each
 * season; an event's dearer hours are.
 */
export function onPeak(laid: LaidTariff): Uint8Array {
  const { count, day } = laid.intervals;
  const kinds = new Map<string, string>();
  const peak = new Uint8Array(count);
  for (let i = 0; i < count; i++) {
    const version = laid.versionOfDay(day[i]!);
    const windows = listOf(version.document.windows as Document[]);
    const main = laid.mainWindowAt(version, i);
    if (laid.mainEventAt(version, i) >= 0) {
      peak[i] = 1;
      continue;
    }
    if (main < 0) continue;
    const season = laid.seasonAt(version, day[i]!);
    const month = String(new Date(day[i]! * 86_400_000).getUTCMonth());
    const key = `${version.index}|${season}|${windows[main]!.months === undefined ? '' : month}`;
    if (!kinds.has(key)) kinds.set(key, dearest(version, season, Number(month) + 1));
    if (windows[main]!.kind !== undefined) peak[i] = Number(windows[main]!.kind === 'peak');
    else peak[i] = Number(kinds.get(key) === windows[main]!.name);
  }
  return peak;

  /** Name of the dearest window of a season; "" where all cost the same. */
  function dearest(version: Version, season: string, month: number): string {
    const prices = new Map<string, { sum: number; n: number }>();
    for (let i = 0; i < count; i++) {
      if (laid.versionOfDay(day[i]!) !== version || laid.seasonAt(version, day[i]!) !== season) continue;
      if (laid.mainEventAt(version, i) >= 0) continue;
      const windows = listOf(version.document.windows as Document[]);
      const main = windows[laid.mainWindowAt(version, i)]!;
      if (main.months !== undefined && new Date(day[i]! * 86_400_000).getUTCMonth() + 1 !== month) continue;
      const known = prices.get(main.name as string) ?? { sum: 0, n: 0 };
      known.sum += laid.importPrice[i]!;
      known.n++;
      prices.set(main.name as string, known);
    }
    const sorted = [...prices].map(([name, { sum, n }]) => ({ name, mean: sum / n })).sort((a, b) => b.mean - a.mean);
    return sorted.length < 2 || sorted[0]!.mean - sorted[1]!.mean < 1e-9 ? '' : sorted[0]!.name;
  }
}

/**
 * Up to which interval the document says all that the rule does. It leaves open for how long the rule plans, and by which
 * price surplus is stored, where no on-peak window comes within three days or before the data end; what it makes of prices
 * that aren't published yet; and what a sale is where all solar is sold.
 */
export function windowIsDescribedUntil(laid: LaidTariff): number {
  if (JSON.stringify(laid.document).includes('"series"')) return 0;
  if ((laid.document.export as Document | undefined)?.kind === 'buy-all') return 0;
  const peak = onPeak(laid);
  const within = Math.round((3 * 1440) / laid.intervals.stepMinutes);
  let until = 0;
  for (let i = 0; i < peak.length; i++) {
    if (!peak[i]) continue;
    if (i - until > within) break;
    until = i + 1;
  }
  return until;
}

/**
 * Fills before each on-peak window and spends in it.
 *
 * @param fillKwh added to what has to be bought: where a whole number of hours fills the battery exactly, a little less and
 * a little more than nothing give both answers
 */
export function runWindow(home: CheckedHome, laid: LaidTariff, fillKwh = 0): CheckedFlow {
  const peak = onPeak(laid);
  const { plant, intervals } = home;
  const { count, stepMinutes, minuteOfDay } = intervals;
  const { chargeEfficiency: into, dischargeEfficiency: out, capacity } = plant;
  const price = laid.importPrice;
  const sale = laid.exportPrice;

  // Learnt from what has passed, by the minute of the day: "each new day moves what is usual by a quarter".
  const usualSurplus = new Map<number, number>();
  const usualPeak = new Map<number, number>();
  let learnt = 0;
  const learn = (until: number) => {
    for (; learnt < until; learnt++) {
      const net = netOf(home, learnt).net - plant.standby;
      const minute = minuteOfDay[learnt]!;
      const surplus = usualSurplus.get(minute) ?? 0;
      usualSurplus.set(minute, surplus + (Math.max(0, -net) - surplus) / 4);
      if (peak[learnt]) {
        const known = usualPeak.get(minute);
        const load = Math.max(0, net);
        usualPeak.set(minute, known === undefined ? load : known + (load - known) / 4);
      }
    }
  };

  const levels: Partial<CheckedLevels>[] = new Array(count);
  let planned = 0;
  return runRule(home, (i) => {
    if (i >= planned) planned = plan(i);
    return levels[i]!;
  });

  function plan(from: number): number {
    learn(from);
    const floors = plant.floorsKnownAt(from);
    let first = from;
    while (first < count && !peak[first]) first++;
    let end = first;
    while (end < count && peak[end]) end++;
    const within = Math.round((3 * 1440) / stepMinutes);
    if (first >= count || first - from > within) {
      // No on-peak window within three days: self-consumption, storing surplus where that is worth more than its sale.
      // Day by day; what is stored may replace the dearest purchase that is still to come that day.
      let until = from + 1;
      while (until < count && intervals.day[until] === intervals.day[from]) until++;
      let dearest = Number.NEGATIVE_INFINITY;
      for (let i = until - 1; i >= from; i--) {
        levels[i] = sale[i]! < dearest * into * out ? {} : { solarTo: floors[i]! };
        dearest = Math.max(dearest, price[i]!);
      }
      return until;
    }

    let P = 0;
    for (let i = first; i < end; i++) P += price[i]!;
    P /= end - first;
    const W = P * into * out;
    let N: number | undefined = 0;
    for (let i = first; i < end; i++) {
      const usual = usualPeak.get(minuteOfDay[i]!);
      N = usual === undefined || N === undefined ? undefined : N + usual;
    }
    const F = floors[first]!;
    let dearestSale = Number.NEGATIVE_INFINITY;
    for (let i = first; i < end; i++) dearestSale = Math.max(dearestSale, sale[i]!);
    const top = (i: number) =>
      N === undefined || (plant.batteryExport && dearestSale > price[i]!)
        ? capacity
        : Math.min(capacity, floors[i]! + (2 * N) / out);

    // Buying: the cheapest hours first, within a price the latest first.
    const buys = new Set<number>();
    let B = Number.NEGATIVE_INFINITY;
    if (plant.gridCharging) {
      const cheap: number[] = [];
      for (let i = from; i < first; i++) if (price[i]! < W && plant.charges[i]! > 0) cheap.push(i);
      cheap.sort((a, b) => price[a]! - price[b]! || b - a);
      let room = (1.25 * (capacity - F)) / into + fillKwh;
      for (const i of cheap) {
        if (room <= 0) break;
        buys.add(i);
        room -= plant.charge;
        B = Math.max(B, price[i]!);
      }
    }

    // With nothing to buy, no hour counts on it.
    if (buys.size === 0) B = Number.POSITIVE_INFINITY;
    let refill = 0;
    let ahead = 0;
    let M = Number.NEGATIVE_INFINITY;
    for (let i = first - 1; i >= from; i--) {
      const s = sale[i]!;
      const surplus = usualSurplus.get(minuteOfDay[i]!) ?? 0;
      const level: Partial<CheckedLevels> = {};
      const worth = buys.size === 0 ? W : Math.max(B, M * into * out);
      const stores = s < worth;
      level.solarTo = stores ? capacity : floors[i]!;
      if (buys.has(i)) {
        const target = M * into * out > B ? capacity : top(i);
        const share = s >= B ? 0 : Math.min(1, (2 * (B - s)) / (W - s));
        level.gridTo = target - share * ahead * into;
        level.serveDownTo = Number.POSITIVE_INFINITY;
        refill += plant.charges[i]! * into;
      } else {
        if (price[i]! * into * out > B) {
          level.serveDownTo = top(i) - refill;
          M = Math.max(M, price[i]!);
        } else if (price[i]! * into * out > s) level.serveDownTo = top(i) - 0.5 * ahead * into;
        else level.serveDownTo = Number.POSITIVE_INFINITY;
      }
      if (stores) {
        refill += Math.min(surplus, plant.charges[i]!) * into;
        ahead += Math.min(surplus, plant.charges[i]!);
      }
      levels[i] = level;
    }
    for (let i = first; i < end; i++) {
      levels[i] = {};
      if (plant.batteryExport && plant.gridCharging && sale[i]! * into * out > cheapestAfter(end)) {
        let rest = 0;
        for (let k = i + 1; k < end; k++) rest += usualPeak.get(minuteOfDay[k]!) ?? Number.POSITIVE_INFINITY;
        levels[i]!.exportDownTo = floors[i]! + (2 * rest) / out;
      }
    }
    return end;
  }

  /** The cheapest price of the day that follows. */
  function cheapestAfter(i: number): number {
    let cheapest = Number.POSITIVE_INFINITY;
    for (let k = i; k < Math.min(count, i + Math.round(1440 / stepMinutes)); k++)
      cheapest = Math.min(cheapest, price[k]!);
    return cheapest;
  }
}
