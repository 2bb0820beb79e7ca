import { sameData } from '../input/same-data.ts';
import type { WindowLabel } from './compiled.ts';
import type { Layout } from './layout.ts';

/**
 * The windows as dispatch sees them: within a version's season the dearest is `peak`, the cheapest `off-peak`, what
 * lies between `shoulder`; one price for all is `flat`. Events are peaks. What the file states wins.
 */
export function labelWindows(layout: Layout): { windows: WindowLabel[]; window: Uint8Array } {
  const { schedule, tariff, charges, setPlans } = layout;
  const { slots, slot } = schedule;
  const price = new Float64Array(slots.length);
  for (const charge of charges)
    if (charge.flow === 'import')
      for (let s = 0; s < slots.length; s++) price[s] = price[s]! + charge.weight.whole * charge.rate[s]!;

  // The name of a slot's window: by the tariff's own windows, else by those of the first charge that has some.
  const naming = tariff.versions.map((rates, v) => {
    if (new Set(rates.windows.map((w) => w.name)).size > 1) return { set: 0, windows: rates.windows };
    for (const [c, charge] of rates.energy.entries())
      if (charge.pricing.form === 'windows') return { set: setPlans[v]!.pricing[c]!, windows: charge.pricing.windows };
    return { set: 0, windows: rates.windows };
  });
  const windowOf = (s: number) => {
    const { set, windows } = naming[slots[s]!.version]!;
    return windows[slots[s]!.labels[set]!]!;
  };
  // Mean price of each window of a season, events apart.
  const means = new Map<string, Map<string, { sum: number; count: number }>>();
  for (let s = 0; s < slots.length; s++) {
    const { version, season, event, parts } = slots[s]!;
    if (event >= 0 || parts !== undefined) continue;
    const key = `${version} ${season}`;
    const byName = means.get(key) ?? new Map<string, { sum: number; count: number }>();
    means.set(key, byName);
    const { name } = windowOf(s);
    const mean = byName.get(name) ?? { sum: 0, count: 0 };
    byName.set(name, { sum: mean.sum + price[s]!, count: mean.count + 1 });
  }
  const kindOf = (s: number): WindowLabel['kind'] => {
    const { version, season, event } = slots[s]!;
    if (event >= 0) {
      const { effect } = tariff.versions[version]!.events[event]!;
      if (effect.kind === 'rebate' || effect.pricePerKwh > 0) return 'peak';
    }
    const window = windowOf(s);
    if (window.kind !== undefined) return window.kind;
    const byName = means.get(`${version} ${season}`);
    const own = byName?.get(window.name);
    if (byName === undefined || own === undefined) return 'flat';
    const prices = [...byName.values()].map((m) => m.sum / m.count);
    const [low, high] = [Math.min(...prices), Math.max(...prices)];
    const mean = own.sum / own.count;
    const near = 1e-9 * Math.max(1, Math.abs(high));
    if (high - low <= near) return 'flat';
    return mean >= high - near ? 'peak' : mean <= low + near ? 'off-peak' : 'shoulder';
  };
  const windows: WindowLabel[] = [];
  const labelOf = new Uint8Array(slots.length);
  for (let s = 0; s < slots.length; s++) {
    const { version, event } = slots[s]!;
    const name = event >= 0 ? tariff.versions[version]!.events[event]!.name : windowOf(s).name;
    const kind = kindOf(s);
    const label: WindowLabel = event >= 0 ? { name, kind, event: true } : { name, kind };
    let w = windows.findIndex((known) => sameData(known, label));
    if (w < 0) w = windows.push(label) - 1;
    labelOf[s] = Math.min(w, 255);
  }
  const window = new Uint8Array(slot.length);
  for (let i = 0; i < slot.length; i++) window[i] = labelOf[slot[i]!]!;
  return { windows, window };
}
