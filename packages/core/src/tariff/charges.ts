import type { Account } from './account.ts';
import { ALL_SEASONS } from './hours.ts';
import { WINDOW_CHARGE } from './resolve/energy.ts';
import type { HourSet, Slot } from './schedule.ts';
import { tableSet } from './schedule.ts';
import type { Block, Pricing, Rates, WindowRule } from './tariff.ts';
import { type LineIdentity, lineWeights } from './weights.ts';

/** A price per kWh of one version, by slot. */
export interface RatedCharge {
  readonly line: LineIdentity;
  readonly version: number;
  readonly flow: 'import' | 'export';
  /** Price in each slot: of the first block where there are blocks, 0 where the charge doesn't hold. */
  readonly rate: Float64Array;
  /** Index into `labels` in each slot, −1 where the charge doesn't hold. */
  readonly label: Int32Array;
  /** What the bill's line says after the charge's name. */
  readonly labels: readonly string[];
  /** The lines that the bill may have of it, a label and a rate each, and the line of each slot; −1 where it doesn't hold. */
  readonly lines: readonly { readonly label: number; readonly rate: number }[];
  readonly slotLine: Int32Array;
  /** Prices change from interval to interval: the bill prints their mean. */
  readonly series:
    | { readonly file: string; readonly multiplier: number; readonly adderPerKwh: number; readonly known: string }
    | undefined;
  /** Where there is a series: its price in each interval of the axis, 0 where the charge doesn't hold. */
  readonly seriesPricePerKwh: Float64Array | undefined;
  /** Many prices: the bill prints their mean. */
  readonly averaged: boolean;
  /** Blocks by label; undefined where the charge has none. */
  readonly blocks: readonly (BlockSet | undefined)[] | undefined;
  readonly nonBypassable: boolean;
  /** An interval with an edge inside counts as wholly in the slot that has most of it; else its energy is shared. */
  readonly dominant: boolean;
  /** What a unit of its money comes to with all percentages, and how much of that the minimum bill counts. */
  readonly weight: { readonly whole: number; readonly underMinimum: number };
}

/** Blocks and the seasons whose days they are counted over. */
export interface BlockSet {
  readonly blocks: readonly Block[];
  readonly seasonMask: number;
  readonly resets: 'billing-period' | 'day';
}

/** Where the hour sets of a version stand in its slots' labels. */
export interface SetPlan {
  readonly sets: readonly HourSet[];
  /** By index of the energy charge, then the export rule last: its own set, −1 none. */
  readonly pricing: readonly number[];
  readonly exportPricing: number;
  readonly demand: readonly number[];
}

/** The hour sets of a version: the windows first. */
export function planSets(rates: Rates): SetPlan {
  const ruleSet = (windows: readonly WindowRule[]): HourSet => ({ by: 'rules', rules: windows.map((w) => w.hours) });
  const sets: HourSet[] = [ruleSet(rates.windows)];
  const own = (pricing: Pricing): number => {
    if (pricing.form === 'windows') return sets.push(ruleSet(pricing.windows)) - 1;
    if (pricing.form === 'table') return sets.push(tableSet(pricing.rows)) - 1;
    return -1;
  };
  return {
    pricing: rates.energy.map((charge) => own(charge.pricing)),
    exportPricing: 'pricing' in rates.export ? own(rates.export.pricing) : -1,
    demand: rates.demand.map((charge) => sets.push({ by: 'member', rule: charge.hours }) - 1),
    sets,
  };
}

/** A price per kWh in a slot without an edge inside. */
interface SlotPrice {
  readonly rate: number;
  readonly label: string;
  readonly blocks?: BlockSet;
}

/** All prices per kWh of a version. */
export function ratedCharges(
  rates: Rates,
  version: number,
  plan: SetPlan,
  slots: readonly Slot[],
  account: Account,
): RatedCharge[] {
  const programmes = account.programmes ?? [];
  const charges: RatedCharge[] = [];
  const add = (
    line: LineIdentity,
    priceIn: (slot: Slot) => SlotPrice | undefined,
    more: { series?: RatedCharge['series']; averaged?: boolean; nonBypassable?: boolean; dominant?: boolean } = {},
  ) => {
    charges.push(
      fillSlots(line, version, slots, priceIn, {
        series: more.series,
        averaged: more.averaged === true || more.series !== undefined,
        nonBypassable: more.nonBypassable === true,
        dominant: more.dominant === true,
        weight: lineWeights(line, rates, programmes),
      }),
    );
  };
  const netsKwh = rates.export.kind === 'net-metering' && rates.export.carry !== 'money';

  if (rates.windows.some((w) => w.pricePerKwh !== undefined || w.blocks !== undefined)) {
    const sets = rates.windows.map((w) => windowBlocks(w));
    add(
      { name: WINDOW_CHARGE, kind: 'energy', supplier: undefined },
      (slot) => {
        const event = slot.event < 0 ? undefined : rates.events[slot.event]!;
        if (event?.effect.kind === 'price') return { rate: event.effect.pricePerKwh, label: event.name };
        const window = rates.windows[slot.labels[0]!]!;
        return windowPrice(window, sets[slot.labels[0]!]);
      },
      { dominant: netsKwh || sets.some((s) => s !== undefined) },
    );
  }
  for (const [c, charge] of rates.energy.entries()) {
    if (charge.programme !== undefined && !programmes.includes(charge.programme)) continue;
    const priceIn = pricer(charge.pricing, plan.pricing[c]!, rates.windows, charge.seasonMask);
    add(
      { name: charge.name, kind: 'energy', supplier: charge.supplier },
      (slot) => {
        if (((charge.seasonMask >> slot.season) & 1) === 0) return undefined;
        if (charge.inWindows !== undefined && !charge.inWindows[slot.labels[0]!]) return undefined;
        return priceIn(slot);
      },
      {
        series: charge.pricing.form === 'series' ? charge.pricing : undefined,
        averaged: charge.pricing.form === 'table',
        nonBypassable: charge.nonBypassable,
        dominant: netsKwh || hasBlocks(charge.pricing),
      },
    );
  }
  for (const [e, event] of rates.events.entries())
    if (event.effect.kind === 'adder') {
      const rate = event.effect.pricePerKwh;
      add(
        { name: event.name, kind: 'energy', supplier: undefined },
        (slot) => (slot.event === e ? { rate, label: '' } : undefined),
        {
          dominant: netsKwh,
        },
      );
    }
  if ('pricing' in rates.export) {
    const { pricing, name } = rates.export;
    add(
      { name, kind: 'export', supplier: undefined },
      pricer(pricing, plan.exportPricing, rates.windows, ALL_SEASONS),
      {
        series: pricing.form === 'series' ? pricing : undefined,
        averaged: pricing.form === 'table',
        dominant: hasBlocks(pricing),
      },
    );
  }
  return charges;
}

function hasBlocks(pricing: Pricing): boolean {
  return (
    pricing.form === 'blocks' || (pricing.form === 'windows' && pricing.windows.some((w) => w.blocks !== undefined))
  );
}

function windowBlocks(window: WindowRule): BlockSet | undefined {
  return window.blocks === undefined
    ? undefined
    : { blocks: window.blocks, seasonMask: window.hours.seasonMask, resets: 'billing-period' };
}

function windowPrice(window: WindowRule, blocks: BlockSet | undefined): SlotPrice {
  const label = window.name;
  if (blocks !== undefined) return { rate: blocks.blocks[0]!.pricePerKwh, label, blocks };
  return { rate: window.pricePerKwh ?? 0, label };
}

/** A form of price as a function of the slot. */
function pricer(
  pricing: Pricing,
  set: number,
  windows: readonly WindowRule[],
  seasonMask: number,
): (slot: Slot) => SlotPrice | undefined {
  switch (pricing.form) {
    case 'flat':
      return () => ({ rate: pricing.pricePerKwh, label: '' });
    case 'by-window':
      return (slot) => {
        const window = slot.labels[0]!;
        return { rate: pricing.pricePerKwh[window]!, label: windows[window]!.name };
      };
    case 'windows': {
      const sets = pricing.windows.map(windowBlocks);
      return (slot) => windowPrice(pricing.windows[slot.labels[set]!]!, sets[slot.labels[set]!]);
    }
    case 'table':
      return (slot) => {
        const label = slot.labels[set]!;
        return { rate: pricing.rows[Math.floor(label / 24)]!.pricesByHour[label % 24]!, label: '' };
      };
    case 'blocks': {
      const blocks: BlockSet = { blocks: pricing.blocks, seasonMask, resets: pricing.resets };
      return () => ({ rate: pricing.blocks[0]!.pricePerKwh, label: '', blocks });
    }
    case 'series':
      return () => ({ rate: 0, label: '' });
  }
}

function fillSlots(
  line: LineIdentity,
  version: number,
  slots: readonly Slot[],
  priceIn: (slot: Slot) => SlotPrice | undefined,
  more: Pick<RatedCharge, 'series' | 'averaged' | 'nonBypassable' | 'dominant' | 'weight'>,
): RatedCharge {
  const rate = new Float64Array(slots.length);
  const label = new Int32Array(slots.length).fill(-1);
  const labels: string[] = [];
  const keys: string[] = [];
  const blocks: (BlockSet | undefined)[] = [];
  for (let s = 0; s < slots.length; s++) {
    const slot = slots[s]!;
    if (slot.version !== version || slot.parts !== undefined) continue;
    const price = priceIn(slot);
    if (price === undefined) continue;
    // Windows of one name share a line, and their blocks where these are the same.
    const key = `${price.label} ${price.blocks === undefined ? '' : JSON.stringify(price.blocks)}`;
    let l = keys.indexOf(key);
    if (l < 0) {
      l = keys.push(key) - 1;
      labels.push(price.label);
      blocks.push(price.blocks);
    }
    rate[s] = price.rate;
    label[s] = l;
  }
  for (let s = 0; s < slots.length; s++) {
    const parts = slots[s]!.parts;
    if (parts === undefined) continue;
    const [largest] = parts;
    label[s] = label[largest!.slot]!;
    if (more.dominant) rate[s] = rate[largest!.slot]!;
    else for (const part of parts) rate[s] = rate[s]! + part.weight * rate[part.slot]!;
  }
  const lines: { label: number; rate: number }[] = [];
  const slotLine = new Int32Array(slots.length).fill(-1);
  for (let s = 0; s < slots.length; s++) {
    // The mean price of many has no line of its own.
    if (label[s]! < 0 || more.averaged) continue;
    const found = lines.findIndex((known) => known.label === label[s] && known.rate === rate[s]);
    slotLine[s] = found >= 0 ? found : lines.push({ label: label[s]!, rate: rate[s]! }) - 1;
  }
  return {
    line,
    version,
    flow: line.kind === 'export' ? 'export' : 'import',
    rate,
    label,
    labels,
    lines,
    slotLine,
    series: more.series,
    seriesPricePerKwh: undefined,
    averaged: more.averaged,
    blocks: blocks.some((b) => b !== undefined) ? blocks : undefined,
    nonBypassable: more.nonBypassable,
    dominant: more.dominant,
    weight: more.weight,
  };
}
