import type { Axis } from '../axis/index.ts';
import type { CompiledTariff } from './compiled.ts';
import { evaluateTerms, type TermValue } from './evaluate.ts';
import type { ServiceFlows } from './flow-sums.ts';
import type { CarryTerm, CountedCharges, DemandTerm, MinimumTerm, NettingTerm, RebateTerm, TierTerm } from './terms.ts';

/** What one more kWh would change, interval by interval, at given flows. */
export interface MarginalPrices {
  /** Cost of one more kWh imported, every term included. */
  readonly importPerKwh: Float64Array;
  /** What one more kWh exported earns. */
  readonly exportPerKwh: Float64Array;
}

/**
 * Marginal prices at an operating point: the slope of {@link billTotal} as import rises. At a kink (a full block, a tie
 * for the peak, a bill at its minimum) it is the slope towards more import. A capacity step's jump has no slope.
 */
export function marginalPrices(compiled: CompiledTariff, flows: ServiceFlows): MarginalPrices {
  const importPerKwh = new Float64Array(compiled.axis.intervals);
  const exportPerKwh = new Float64Array(compiled.axis.intervals);
  addSlopes(compiled.axis, compiled, flows, undefined, { importPerKwh, exportPerKwh });
  return { importPerKwh, exportPerKwh };
}

/** A weight for each billing period, and the period of each interval. */
interface Weights {
  readonly ofPeriod: Float64Array;
  readonly period: Int32Array;
}

/** Adds the slopes of some charges, each billing period's times a weight. */
function addSlopes(
  axis: Axis,
  charges: CountedCharges,
  flows: ServiceFlows,
  weights: Weights | undefined,
  out: MarginalPrices,
): void {
  const { importPerKwh, exportPerKwh } = out;
  for (let i = 0; i < importPerKwh.length; i++) {
    const p = weights === undefined ? 0 : weights.period[i]!;
    const weight = weights === undefined ? 1 : p < 0 ? 0 : weights.ofPeriod[p]!;
    importPerKwh[i] = importPerKwh[i]! + weight * charges.importPricePerKwh[i]!;
    exportPerKwh[i] = exportPerKwh[i]! + weight * charges.exportPricePerKwh[i]!;
  }
  const { terms } = charges;
  const values = evaluateTerms(axis, terms, flows);
  // What a kWh billed by netting costs on top, from the blocks that it falls into.
  const dueSlope = values.map((value) => new Float64Array(value.due.length));
  const groupWeight = (period: Int32Array, g: number) => (weights === undefined ? 1 : weights.ofPeriod[period[g]!]!);
  for (let t = terms.length - 1; t >= 0; t--) {
    const term = terms[t]!;
    const value = values[t]!;
    const weight = (g: number) => groupWeight(term.period, g);
    switch (term.kind) {
      case 'fixed':
        break;
      case 'tier':
        tierSlopes(term, value, weight, out, dueSlope);
        break;
      case 'demand':
        demandSlopes(axis, term, value, flows.importKwh, weight, out.importPerKwh);
        break;
      case 'netting':
        nettingSlopes(term, value, weight, dueSlope[t]!, out);
        break;
      case 'rebate':
        rebateSlopes(term, value, weight, out.importPerKwh);
        break;
      case 'minimum':
        addSlopes(axis, term.counted, flows, minimumWeights(term, value, weight), out);
        break;
      case 'carry':
        addSlopes(axis, term.counted, flows, carryWeights(term, value, weight), out);
        break;
    }
  }
}

function spreadSlopes(group: Int32Array, slope: Float64Array, into: Float64Array, sign: number): void {
  for (let i = 0; i < group.length; i++) if (group[i]! >= 0) into[i] = into[i]! + sign * slope[group[i]!]!;
}

function tierSlopes(
  term: TierTerm,
  value: TermValue,
  weight: (g: number) => number,
  out: MarginalPrices,
  dueSlope: readonly Float64Array[],
): void {
  const slope = new Float64Array(term.groups);
  for (let g = 0; g < term.groups; g++) {
    const bounds = term.upToKwh[g]!;
    let k = 0;
    while (k < bounds.length - 1 && value.quantity[g]! >= bounds[k]!) k++;
    slope[g] = weight(g) * term.adderPerKwh[g]![k]!;
  }
  if (term.netting !== undefined) {
    const into = dueSlope[term.netting.term]!;
    for (let n = 0; n < into.length; n++) {
      const g = term.netting.tierGroup[n]!;
      if (g >= 0) into[n] = into[n]! + slope[g]!;
    }
  } else if (term.flow === 'export') spreadSlopes(term.group, slope, out.exportPerKwh, 1);
  else spreadSlopes(term.group, slope, out.importPerKwh, 1);
}

function nettingSlopes(
  term: NettingTerm,
  value: TermValue,
  weight: (g: number) => number,
  dueSlope: Float64Array,
  out: MarginalPrices,
): void {
  const ofCarried = new Float64Array(term.groups);
  const ofNet = new Float64Array(term.groups);
  for (let g = term.groups - 1; g >= 0; g--) {
    const owes = value.left[g] === 0;
    const price = weight(g) * term.pricePerKwh[g]!;
    const ofDue = price + dueSlope[g]!;
    const next = term.next[g]!;
    const ofLeft = next >= 0 ? ofCarried[next]! : -weight(g) * term.surplusPerKwh[g]!;
    ofNet[g] = (owes ? ofDue : -ofLeft) - price;
    ofCarried[g] = owes ? -ofDue : ofLeft;
  }
  spreadSlopes(term.group, ofNet, out.importPerKwh, 1);
  spreadSlopes(term.group, ofNet, out.exportPerKwh, 1);
}

function rebateSlopes(term: RebateTerm, value: TermValue, weight: (g: number) => number, into: Float64Array): void {
  const slope = new Float64Array(term.groups);
  for (let g = 0; g < term.groups; g++) {
    if (value.quantity[g] === 0) continue;
    slope[g] = weight(g) * term.pricePerKwh[g]!;
    const stretches = term.references[g]!;
    for (let s = 0; s < stretches.length; s += 2)
      for (let i = stretches[s]!; i < stretches[s + 1]!; i++) into[i] = into[i]! - slope[g]! / (stretches.length / 2);
  }
  spreadSlopes(term.group, slope, into, 1);
}

function minimumWeights(term: MinimumTerm, value: TermValue, weight: (g: number) => number): Weights {
  const ofPeriod = Float64Array.from(value.quantity, (counted, g) =>
    counted < term.amount[g]! ? -weight(g) * term.share[g]! : 0,
  );
  return { ofPeriod, period: term.group };
}

function carryWeights(term: CarryTerm, value: TermValue, weight: (g: number) => number): Weights {
  const ofPeriod = new Float64Array(term.groups);
  const ofCarried = new Float64Array(term.groups);
  for (let g = term.groups - 1; g >= 0; g--) {
    const owes = value.left[g] === 0;
    const own = weight(g);
    const next = term.next[g]!;
    const ofLeft = next >= 0 ? ofCarried[next]! : -own * term.settleShare[g]!;
    ofPeriod[g] = (owes ? own : -ofLeft) - own;
    ofCarried[g] = owes ? -own : ofLeft;
  }
  return { ofPeriod, period: term.group };
}

function demandSlopes(
  axis: Axis,
  term: DemandTerm,
  value: TermValue,
  importKwh: Float64Array,
  weight: (g: number) => number,
  into: Float64Array,
): void {
  if (term.steps !== undefined) return;
  const measured = value.left;
  const billed = value.quantity;
  // Money a measured kW, a group: its own bill, and later ones that a ratchet ties to it.
  const slope = new Float64Array(term.groups);
  for (let g = 0; g < term.groups; g++) {
    const price = weight(g) * term.pricePerKw[g]!;
    if (measured[g]! >= billed[g]! - 1e-12) {
      slope[g] = slope[g]! + price;
      continue;
    }
    if (term.ratchet === undefined) continue;
    const source = term.ratchet.groups[g]!.find((q) => term.ratchet!.share * measured[q]! >= billed[g]! - 1e-12);
    if (source !== undefined) slope[source] = slope[source]! + price * term.ratchet.share;
  }
  const hours = term.averagingSteps * axis.stepHours;
  for (const { group, members, share } of peakBlocks(axis, term, importKwh))
    for (const i of members) into[i] = into[i]! + (slope[group]! * term.scale * share) / hours;
}

/** The blocks that make each group's measured kW, with the share that a kW of theirs has in it. */
function peakBlocks(
  axis: Axis,
  term: DemandTerm,
  importKwh: Float64Array,
): { group: number; members: number[]; share: number }[] {
  const { day } = axis.calendar;
  const byGroup: Map<number, { kwh: number; members: number[] }>[] = Array.from(
    { length: term.groups },
    () => new Map(),
  );
  const blocks = new Map<string, { group: number; kwh: number; members: number[]; day: number }>();
  for (let i = 0; i < importKwh.length; i++) {
    const g = term.group[i]!;
    if (g < 0) continue;
    const key = `${g} ${Math.floor((i - term.phaseSteps) / term.averagingSteps)}`;
    const block = blocks.get(key) ?? { group: g, kwh: 0, members: [], day: day[i]! };
    block.kwh += importKwh[i]!;
    block.members.push(i);
    blocks.set(key, block);
  }
  for (const block of blocks.values()) {
    const days = byGroup[block.group]!;
    const highest = days.get(block.day);
    if (highest === undefined || block.kwh > highest.kwh) days.set(block.day, block);
  }
  return byGroup.flatMap((days, group) => {
    const top = [...days.values()].sort((a, b) => b.kwh - a.kwh).slice(0, term.highestDays);
    return top.map((block) => ({ group, members: block.members, share: 1 / top.length }));
  });
}
