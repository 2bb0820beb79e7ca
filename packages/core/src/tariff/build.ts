import type { Fact } from '../words/fact.ts';
import { addScaled } from './flow-sums.ts';
import type { Layout } from './layout.ts';
import { periodGroups } from './layout.ts';
import { staysConvex } from './terms/convexity.ts';
import type { Deduction, Planned, TermContext, Weigh } from './terms/kind.ts';
import { type BillTerm, type ChargePlan, chargeKinds, chargeOf, closingKinds } from './terms/registry.ts';
import type { CountedCharges, Term } from './terms/term.ts';
import { lineWeights } from './weights.ts';

/** What a bill is made from: plain data, as all of a compiled tariff. */
export interface BillPlan extends Layout {
  /** What the first terms are made of: plan k makes `terms[k]`. */
  readonly plans: readonly ChargePlan[];
  readonly terms: readonly BillTerm[];
}

/** Prices and terms of a layout, and the plan of its bill. */
export function buildTerms(
  layout: Layout,
  warnings: Fact[],
): Omit<CountedCharges, 'terms'> & { terms: BillTerm[]; plan: BillPlan } {
  const plans: Planned[] = [];
  for (const [kind, charge] of chargeKinds())
    for (const plan of charge.plan(layout, warnings, plans)) plans.push({ kind, plan });
  const weights = rememberedWeights(layout);
  const weighWhole: Weigh = (line, version) => weights(line, version).whole;
  const whole = addUp(layout, plans, weighWhole);
  const terms: Term[] = [...whole.terms];
  const deductions: Deduction[] = [];
  for (const [, closing] of closingKinds()) {
    const closed = closing.close({
      layout,
      whole,
      terms,
      deductions,
      weighWhole,
      weighUnderMinimum: (line, version) => weights(line, version).underMinimum,
      count: (weigh) => addUp(layout, plans, weigh),
      staysConvex: (taken) => staysConvex(whole, taken, periodGroups(layout)),
    });
    if (closed === undefined) continue;
    terms.push(closed.term);
    if (closed.deduction !== undefined) deductions.push(closed.deduction);
  }
  return {
    importPricePerKwh: whole.importPricePerKwh,
    exportPricePerKwh: whole.exportPricePerKwh,
    terms: terms as BillTerm[],
    plan: { ...layout, plans: plans as ChargePlan[], terms: terms as BillTerm[] },
  };
}

/** Weights of lines: many charges and versions ask for the same. */
function rememberedWeights({ tariff, account }: Layout) {
  const programmes = account.programmes ?? [];
  const known = new Map<string, ReturnType<typeof lineWeights>>();
  return (line: Parameters<Weigh>[0], version: number) => {
    const key = JSON.stringify([version, line.kind, line.name, line.supplier]);
    let weight = known.get(key);
    if (weight === undefined) {
      weight = lineWeights(line, tariff.versions[version]!, programmes);
      known.set(key, weight);
    }
    return weight;
  };
}

/** Adds charges up with a weight on each line: the whole bill, or the part of it that a minimum or a credit counts. */
function addUp(layout: Layout, plans: readonly Planned[], weigh: Weigh): CountedCharges {
  const { axis, schedule, charges, tariff, cells } = layout;
  const { runStart, runCell } = cells;
  const slotCount = schedule.slots.length;
  const importRate = new Float64Array(slotCount);
  const exportRate = new Float64Array(slotCount);
  const nettedRate = new Float64Array(slotCount);
  const importPricePerKwh = new Float64Array(axis.intervals);
  const exportPricePerKwh = new Float64Array(axis.intervals);
  const slotNets = schedule.slots.map((slot) => tariff.versions[slot.version]!.export.kind === 'net-metering');
  for (const charge of charges) {
    const weight = weigh(charge.line, charge.version);
    if (charge.flow === 'export') addScaled(exportRate, charge.rate, weight);
    else {
      addScaled(importRate, charge.rate, weight);
      if (!charge.nonBypassable) addScaled(nettedRate, charge.rate, weight);
    }
  }
  for (let s = 0; s < slotCount; s++) if (slotNets[s]) exportRate[s] = nettedRate[s]!;
  for (let r = 0; r < runCell.length; r++) {
    // Runs are short: a loop is faster than `fill`.
    const s = cells.slot[runCell[r]!]!;
    const importPrice = importRate[s]!;
    const exportPrice = exportRate[s]!;
    const end = runStart[r + 1]!;
    for (let i = runStart[r]!; i < end; i++) {
      importPricePerKwh[i] = importPrice;
      exportPricePerKwh[i] = exportPrice;
    }
  }
  const series = charges.flatMap((charge) => {
    const prices = charge.seriesPricePerKwh;
    if (prices === undefined) return [];
    const weight = weigh(charge.line, charge.version);
    const nets = tariff.versions[charge.version]!.export.kind === 'net-metering' && !charge.nonBypassable;
    return [
      {
        prices,
        importWeight: charge.flow === 'export' ? 0 : weight,
        exportWeight: charge.flow === 'export' || nets ? weight : 0,
      },
    ];
  });
  for (const { prices, importWeight, exportWeight } of series) {
    addScaled(importPricePerKwh, prices, importWeight);
    addScaled(exportPricePerKwh, prices, exportWeight);
  }

  const context: TermContext = { layout, weigh, nettedPricePerKwh: nettedRate };
  const terms = plans.map((planned) => chargeOf(planned).term(planned.plan, context));
  const byCell = {
    cells,
    importPricePerKwh: Float64Array.from(cells.slot, (s) => importRate[s]!),
    exportPricePerKwh: Float64Array.from(cells.slot, (s) => exportRate[s]!),
    series,
  };
  return { importPricePerKwh, exportPricePerKwh, terms, byCell };
}
