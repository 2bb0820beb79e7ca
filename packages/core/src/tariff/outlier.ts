import type { Block, Pricing, Rates } from './tariff.ts';
import type { WindowKind } from './vocabulary.ts';

/** A price of one window or block that doesn't go with those of the others. */
export interface Outlier {
  readonly charge: string;
  readonly pricePerKwh: number;
  readonly way: 'above' | 'below';
  /** What the others cost, all that is charged by the kWh with them included. */
  readonly beside: { readonly leastPerKwh: number; readonly mostPerKwh: number };
  /** Whether no tariff has it; else some do. */
  readonly sure: boolean;
}

/**
 * What one price may be of the next: five times less or more exists where both are within what is usual, and hardly outside of it;
 * a price a place too far is at least ten times from the next (common practice, no source).
 */
const APART = 5;
/** One price among usual ones that is less than so much of the least that is usual is asked about: for dollars and euros below 0.025. */
const LOW = 0.5;

interface Entry {
  readonly name: string;
  readonly kind: WindowKind | undefined;
  readonly pricePerKwh: number;
  readonly isBlock: boolean;
}

/**
 * The price that stands out among those that they take turns with: out of the usual range and five times from the next; less than half
 * of the least that is usual beside others that are usual; or a peak that is the cheapest of all, an off-peak that is the dearest. What
 * is free is left alone, and what other charges add to the same kWh is counted in.
 */
export function outlierOf(
  rates: Rates,
  [least, most]: readonly [number, number],
  pricesIn: (pricing: Pricing) => readonly number[],
): Outlier | undefined {
  const schemes = schemesOf(rates);
  const everySeason = 2 ** Math.max(1, rates.seasonNames.length) - 1;
  // Whatever else falls on the kWh: what it may come to, and what is sure.
  const added = rates.energy.map(({ pricing, seasonMask, inWindows, programme }) => {
    const prices = pricesIn(pricing);
    const always = inWindows === undefined && programme === undefined && seasonMask === everySeason;
    return { pricing, most: Math.max(...prices), least: always ? Math.min(...prices) : 0 };
  });
  const windows = rates.windows.flatMap(({ pricePerKwh, blocks }) =>
    pricePerKwh === undefined && blocks === undefined ? [] : pricesOf(pricePerKwh, blocks),
  );
  const found = schemes.flatMap(({ pricing, entries }) => {
    const others = added.filter((charge) => charge.pricing !== pricing);
    if (pricing !== undefined && windows.length > 0)
      others.push({ pricing, most: Math.max(...windows), least: Math.min(...windows) });
    const mostMore = others.reduce((sum, charge) => sum + charge.most, 0);
    const leastMore = others.reduce((sum, charge) => sum + charge.least, 0);
    return entries.flatMap((entry): Outlier[] => {
      const { name, pricePerKwh, isBlock } = entry;
      const rest = entries.filter((other) => other.name !== name || (isBlock && other.pricePerKwh !== pricePerKwh));
      const like = entries.filter((other) => !rest.includes(other));
      const paid = rest.flatMap((other) => (other.pricePerKwh > 0 ? [other.pricePerKwh] : []));
      if (!(pricePerKwh > 0) || paid.length === 0) return [];
      const [lowest, highest] = [Math.min(...paid), Math.max(...paid)];
      const beside = { leastPerKwh: lowest, mostPerKwh: highest };
      const outlier = (way: Outlier['way'], sure = true) => [{ charge: name, pricePerKwh, way, beside, sure }];
      const high = pricePerKwh + leastMore;
      const isDearest = like.every((other) => other.pricePerKwh > highest);
      const apart = high / (highest + leastMore);
      if ((high > most && apart >= 2 * APART) || (high > 2 * most && apart >= APART)) return outlier('above');
      if (role(entry) === 'off-peak' && isDearest) return outlier('above');
      const low = pricePerKwh + mostMore;
      const isCheapest = like.every((other) => other.pricePerKwh < lowest);
      if (role(entry) === 'peak' && (isCheapest || (low < least && pricePerKwh < lowest))) return outlier('below');
      if (low >= least || highest + mostMore < least) return [];
      if (APART * low <= lowest + mostMore || (!isBlock && low < LOW * least)) return outlier('below');
      // The first block of a household that needs it, and a second season of what is told already.
      return isBlock ? [] : outlier('below', false);
    });
  });
  // Of two that are far apart one is right: the one further from what is usual is asked about, alone.
  const farness = ({ pricePerKwh, sure }: Outlier) =>
    (sure ? 100 : 0) + Math.max(0, Math.log(pricePerKwh / most), Math.log(least / pricePerKwh));
  return found.sort((a, b) => farness(b) - farness(a))[0];
}

/** The prices of a window, or of its blocks. */
export function pricesOf(pricePerKwh: number | undefined, blocks: readonly Pick<Block, 'pricePerKwh'>[] | undefined) {
  return blocks === undefined ? [pricePerKwh ?? 0] : blocks.map((block) => block.pricePerKwh);
}

/** What takes turns: the tariff's windows, and those of each charge that has its own. */
function schemesOf(rates: Rates): { readonly pricing: Pricing | undefined; readonly entries: readonly Entry[] }[] {
  const ofWindows = (windows: Rates['windows']) =>
    windows.flatMap(({ name, kind, pricePerKwh, blocks }) =>
      pricePerKwh === undefined && blocks === undefined
        ? []
        : pricesOf(pricePerKwh, blocks).map((price) => entryOf(name, kind, price, blocks !== undefined)),
    );
  const ofPricing = (name: string, pricing: Pricing): Entry[] => {
    switch (pricing.form) {
      case 'by-window':
        return pricing.pricePerKwh.map((price, w) => {
          const window = rates.windows[w]!;
          return entryOf(window.name, window.kind, price, false);
        });
      case 'windows':
        return ofWindows(pricing.windows);
      case 'blocks':
        return pricing.blocks.map((block) => entryOf(name, undefined, block.pricePerKwh, true));
      case 'table':
        return [...new Set(pricing.rows.flatMap((row) => row.pricesByHour))].map((price) =>
          entryOf(name, undefined, price, true),
        );
      case 'flat':
      case 'series':
        return [];
    }
  };
  return [
    { pricing: undefined, entries: ofWindows(rates.windows) },
    ...rates.energy.map(({ name, pricing }) => ({ pricing, entries: ofPricing(name, pricing) })),
  ];
}

function entryOf(name: string, kind: WindowKind | undefined, pricePerKwh: number, isBlock: boolean): Entry {
  return { name, kind, pricePerKwh, isBlock };
}

const OFF_PEAK = /\boff\b|\bcreuses?\b|\bvalle\b|\bniedertarif\b/i;
const PEAK = /\bpeak\b|\bpointe\b|\bpunta\b|\bponta\b|\bhochtarif\b/i;
const BETWEEN = /\bmid\b|\bpart\b|\bpartial\b|\bshoulder\b|\bnon\b/i;

/** What the tariff file calls a window: what it states, else by its name. */
function role({ name, kind, isBlock }: Entry): WindowKind | undefined {
  if (kind !== undefined || isBlock || BETWEEN.test(name)) return isBlock ? undefined : kind;
  return OFF_PEAK.test(name) ? 'off-peak' : PEAK.test(name) ? 'peak' : undefined;
}
