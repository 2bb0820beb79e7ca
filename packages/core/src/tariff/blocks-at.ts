import type { CompiledTariff } from './compiled.ts';
import { valuesOf } from './evaluate.ts';
import type { ServiceFlows } from './flows.ts';
import type { TierTerm, TierValue } from './terms/tier.ts';

/** Where an interval stands in the blocks of a charge. */
export interface BlockAt {
  readonly charge: string;
  /** What fills the blocks: what is bought, what is sold, or what is bought less what was sold. */
  readonly counts: TierTerm['flow'];
  /** Whether blocks start anew each bill, or each day. */
  readonly per: 'bill' | 'day';
  /** Where each block begins, kWh: the first at 0. */
  readonly fromKwh: readonly number[];
  /** What a kWh costs (or earns) more in each block than in the first, riders and taxes included. */
  readonly addedPerKwh: readonly number[];
  /** What the blocks were filled with before the interval, and the block that this had reached, 0 the first. */
  readonly beforeKwh: number;
  readonly block: number;
  /** The same at the end of the bill or day: one more kWh in any of its intervals falls in this block. */
  readonly endKwh: number;
  readonly endBlock: number;
}

/** The block that so much energy has reached: one that is just full counts as reached its end, not as the next. */
function reached(bounds: Float64Array, kwh: number): number {
  let k = 0;
  while (k < bounds.length - 1 && kwh > bounds[k]!) k++;
  return k;
}

const tiersOf = (compiled: CompiledTariff) =>
  compiled.terms.flatMap((term, t) => (term.kind === 'tier' ? [{ term, t }] : []));

/** The blocks that an interval stands in, of every charge that has some there. */
export function blocksAt(compiled: CompiledTariff, flows: ServiceFlows, interval: number): BlockAt[] {
  const { axis, terms } = compiled;
  const tiers = tiersOf(compiled).filter(({ term }) => {
    const g = term.group[interval]!;
    return g >= 0 && term.upToKwh[g]!.length > 1;
  });
  if (tiers.length === 0) return [];
  const before = (kwh: Float64Array) => kwh.map((value, i) => (i < interval ? value : 0));
  const at = valuesOf(axis, terms, { importKwh: before(flows.importKwh), exportKwh: before(flows.exportKwh) });
  const atEnd = valuesOf(axis, terms, flows);
  return tiers.map(({ term, t }) => {
    const g = term.group[interval]!;
    const bounds = term.upToKwh[g]!;
    const beforeKwh = (at[t] as TierValue).kwh[g]!;
    const endKwh = (atEnd[t] as TierValue).kwh[g]!;
    return {
      charge: term.name,
      counts: term.flow,
      per: term.byCell === undefined ? 'day' : 'bill',
      fromKwh: [0, ...bounds.subarray(0, bounds.length - 1)],
      addedPerKwh: Array.from(term.adderPerKwh[g]!),
      beforeKwh,
      block: reached(bounds, beforeKwh),
      endKwh,
      endBlock: reached(bounds, endKwh),
    };
  });
}

/**
 * A tariff whose prices are those of the blocks that each bill (or day) ended in: what one more kWh costs or earns at
 * these flows, other terms apart.
 */
export function pricedAtBlocks(compiled: CompiledTariff, flows: ServiceFlows): CompiledTariff {
  const tiers = tiersOf(compiled);
  if (tiers.length === 0) return compiled;
  const values = valuesOf(compiled.axis, compiled.terms, flows);
  const importPricePerKwh = compiled.importPricePerKwh.slice();
  const exportPricePerKwh = compiled.exportPricePerKwh.slice();
  for (const { term, t } of tiers) {
    const { kwh } = values[t] as TierValue;
    const added = term.adderPerKwh.map((adders, g) => adders[reached(term.upToKwh[g]!, kwh[g]!)]!);
    for (const [i, g] of term.group.entries()) {
      if (g < 0) continue;
      if (term.flow !== 'export') importPricePerKwh[i]! += added[g]!;
      // Netted energy is less by what is exported.
      if (term.flow !== 'import') exportPricePerKwh[i]! += added[g]!;
    }
  }
  return { ...compiled, importPricePerKwh, exportPricePerKwh };
}
