import type { CompiledTariff } from './compiled.ts';
import { checkLengths } from './flow-checks.ts';
import { FlowSums, type ServiceFlows, type TermClock } from './flow-sums.ts';
import { blocksFit, dailyRunsOf, highestBlock, runsOf, sumOfProducts } from './runs.ts';
import type { BillTerm, CarryTerm, DemandTerm, MinimumTerm, NettingTerm, RebateTerm, TierTerm } from './terms.ts';

/** What a term comes to, a group, and the quantities that it rests on. */
export interface TermValue {
  readonly amount: Float64Array;
  /** Tier, netting: kWh of each group; demand: billed kW; rebate: kWh below the baseline; minimum, carry: counted money. */
  readonly quantity: Float64Array;
  /** Demand: measured kW. Netting and carry: what is left after the group. */
  readonly left: Float64Array;
  /** Netting and carry: what the group has to pay. */
  readonly due: Float64Array;
}

/**
 * The unrounded bill of an axis: `Σ import · price − Σ export · price + Σ terms`. For comparisons and bounds;
 * {@link billTariff} rounds where the tariff says.
 *
 * @param flows arrays as long as the tariff's axis, kWh; their values are not checked: this runs in searches
 * @throws InputError `length-mismatch`
 */
export function billTotal(compiled: CompiledTariff, flows: ServiceFlows): number {
  const { importKwh, exportKwh } = flows;
  const { importPricePerKwh, exportPricePerKwh } = compiled;
  checkLengths(flows, importPricePerKwh.length);
  let total =
    sumOfProducts(importKwh, importPricePerKwh, 0, importKwh.length) -
    sumOfProducts(exportKwh, exportPricePerKwh, 0, exportKwh.length);
  for (const value of evaluateTerms(compiled.axis, compiled.terms, flows))
    for (let g = 0; g < value.amount.length; g++) total += value.amount[g]!;
  return total;
}

/** Values of a list of terms, in its order. */
export function evaluateTerms(clock: TermClock, terms: readonly BillTerm[], flows: ServiceFlows): TermValue[] {
  return termValues(terms, new FlowSums(clock, flows));
}

/** {@link evaluateTerms} where sums of the flows are at hand. */
export function termValues(terms: readonly BillTerm[], sums: FlowSums): TermValue[] {
  const values: TermValue[] = [];
  for (const term of terms) values.push(termValue(term, sums, values));
  return values;
}

const NONE = new Float64Array(0);

function termValue(term: BillTerm, sums: FlowSums, earlier: readonly TermValue[]): TermValue {
  switch (term.kind) {
    case 'fixed':
      return { amount: term.amount, quantity: NONE, left: NONE, due: NONE };
    case 'tier':
      return tierValue(term, sums, earlier);
    case 'demand':
      return demandValue(term, sums);
    case 'netting':
      return nettingValue(term, sums);
    case 'rebate':
      return rebateValue(term, sums);
    case 'minimum':
      return minimumValue(term, sums);
    case 'carry':
      return carryValue(term, sums);
  }
}

function tierValue(term: TierTerm, sums: FlowSums, earlier: readonly TermValue[]): TermValue {
  let quantity: Float64Array;
  if (term.netting === undefined) quantity = sums.ofGroups(term, term.flow === 'export' ? 'exportKwh' : 'importKwh');
  else {
    quantity = new Float64Array(term.groups);
    const { due } = earlier[term.netting.term]!;
    for (let n = 0; n < due.length; n++) {
      const g = term.netting.tierGroup[n]!;
      if (g >= 0) quantity[g] = quantity[g]! + due[n]!;
    }
  }
  const sign = term.flow === 'export' ? -1 : 1;
  const amount = new Float64Array(term.groups);
  for (let g = 0; g < term.groups; g++) {
    const bounds = term.upToKwh[g]!;
    const adders = term.adderPerKwh[g]!;
    let sum = 0;
    let lower = bounds[0]!;
    for (let k = 1; k < bounds.length && quantity[g]! > lower; k++) {
      sum += (Math.min(quantity[g]!, bounds[k]!) - lower) * adders[k]!;
      lower = bounds[k]!;
    }
    amount[g] = sign * sum;
  }
  return { amount, quantity, left: NONE, due: NONE };
}

/** Measured kW of each group: the highest block, or the mean of the highest of the highest days. */
export function measuredKw(clock: TermClock, term: DemandTerm, importKwh: Float64Array): Float64Array {
  const { group, averagingSteps, phaseSteps, highestDays } = term;
  const { day } = clock.calendar;
  const hours = averagingSteps * clock.stepHours;
  const runs = highestDays === 1 ? runsOf(group) : dailyRunsOf(group, day);
  const days = new HighestDays(term.groups, highestDays);
  if (blocksFit(runs, averagingSteps, phaseSteps)) {
    const { starts, groups } = runs;
    for (let r = 0; r < groups.length; r++) {
      const g = groups[r]!;
      if (g < 0) continue;
      const first = starts[r]!;
      days.see(g, day[first]!, highestBlock(importKwh, first, starts[r + 1]!, averagingSteps) / hours);
    }
    return days.peaks();
  }
  const sums = new Float64Array(term.groups);
  const touched = new Uint8Array(term.groups);
  let from = phaseSteps > 0 ? phaseSteps - averagingSteps : 0;
  for (; from < group.length; from += averagingSteps) {
    const end = Math.min(from + averagingSteps, group.length);
    const start = Math.max(0, from);
    for (let i = start; i < end; i++) {
      const g = group[i]!;
      if (g < 0) continue;
      sums[g] = sums[g]! + importKwh[i]!;
      touched[g] = 1;
    }
    for (let i = start; i < end; i++) {
      const g = group[i]!;
      if (g < 0 || touched[g] === 0) continue;
      days.see(g, day[i]!, sums[g]! / hours);
      sums[g] = 0;
      touched[g] = 0;
    }
  }
  return days.peaks();
}

/** The highest kW of each group, or the mean of those of its highest days. Days come in order. */
class HighestDays {
  private readonly highest: Float64Array;
  private readonly dayOf: Int32Array;
  private readonly daily: number[][];

  constructor(
    private readonly groups: number,
    private readonly count: number,
  ) {
    this.highest = new Float64Array(groups);
    this.dayOf = new Int32Array(groups).fill(-1);
    this.daily = Array.from({ length: count > 1 ? groups : 0 }, () => []);
  }

  see(group: number, day: number, kw: number): void {
    const { highest, dayOf } = this;
    if (this.count > 1 && dayOf[group] !== day) {
      if (dayOf[group]! >= 0) this.daily[group]!.push(highest[group]!);
      dayOf[group] = day;
      highest[group] = 0;
    }
    if (kw > highest[group]!) highest[group] = kw;
  }

  peaks(): Float64Array {
    const { highest, dayOf, count } = this;
    if (count === 1) return highest;
    for (let g = 0; g < this.groups; g++) {
      if (dayOf[g]! < 0) continue;
      const peaks = this.daily[g]!;
      peaks.push(highest[g]!);
      peaks.sort((a, b) => b - a);
      const taken = Math.min(count, peaks.length);
      let sum = 0;
      for (let k = 0; k < taken; k++) sum += peaks[k]!;
      highest[g] = sum / taken;
    }
    return highest;
  }
}

/** Measured kW in the unit that is billed. The whole bill and the parts that are counted share one measurement. */
function scaledKw(term: DemandTerm, sums: FlowSums): Float64Array {
  const { group, averagingSteps, phaseSteps, highestDays, scale } = term;
  return sums.once(group, `${averagingSteps} ${phaseSteps} ${highestDays} ${scale}`, () =>
    measuredKw(sums.clock, term, sums.flows.importKwh).map((kw) => kw * scale),
  );
}

function demandValue(term: DemandTerm, sums: FlowSums): TermValue {
  const measured = scaledKw(term, sums);
  const billed = new Float64Array(term.groups);
  const amount = new Float64Array(term.groups);
  for (let g = 0; g < term.groups; g++) {
    let kw = Math.max(measured[g]!, term.minimumKw[g]!);
    if (term.ratchet !== undefined) {
      let highest = term.ratchet.historyKw[g]!;
      for (const earlier of term.ratchet.groups[g]!) highest = Math.max(highest, measured[earlier]!);
      kw = Math.max(kw, term.ratchet.share * highest);
    }
    billed[g] = kw;
    if (term.steps === undefined) amount[g] = term.pricePerKw[g]! * kw;
    else amount[g] = term.steps.share[g]! * term.steps.amount[stepOf(term.steps.upToKw, kw)]!;
  }
  return { amount, quantity: billed, left: measured, due: NONE };
}

/** The first capacity step that holds so many kW. */
export function stepOf(upToKw: Float64Array, kw: number): number {
  let step = 0;
  // A peak that was added up in binary may lie a hair above the class that it belongs to.
  while (step < upToKw.length - 1 && kw > upToKw[step]! + 1e-9) step++;
  return step;
}

function nettingValue(term: NettingTerm, sums: FlowSums): TermValue {
  const exportKwh = sums.ofGroups(term, 'exportKwh');
  const net = sums.ofGroups(term, 'importKwh').map((kwh, g) => kwh - exportKwh[g]!);
  const amount = new Float64Array(term.groups);
  const due = new Float64Array(term.groups);
  const left = new Float64Array(term.groups);
  const carried = term.carriedInKwh.slice();
  for (let g = 0; g < term.groups; g++) {
    due[g] = Math.max(0, net[g]! - carried[g]!);
    left[g] = Math.max(0, carried[g]! - net[g]!);
    amount[g] = term.pricePerKwh[g]! * (due[g]! - net[g]!);
    const next = term.next[g]!;
    if (next >= 0) carried[next] = carried[next]! + left[g]!;
    else amount[g] = amount[g]! - term.surplusPerKwh[g]! * left[g]!;
  }
  return { amount, quantity: net, left, due };
}

function rebateValue(term: RebateTerm, sums: FlowSums): TermValue {
  const below = belowBaselineKwh(term, sums);
  const amount = below.map((kwh, g) => -term.pricePerKwh[g]! * kwh);
  return { amount, quantity: below, left: NONE, due: NONE };
}

function belowBaselineKwh(term: RebateTerm, sums: FlowSums): Float64Array {
  const { importKwh } = sums.flows;
  return sums.ofGroups(term, 'importKwh').map((used, g) => {
    const stretches = term.references[g]!;
    let sum = 0;
    for (let s = 0; s < stretches.length; s += 2)
      for (let i = stretches[s]!; i < stretches[s + 1]!; i++) sum += importKwh[i]!;
    const baseline = term.baselineKwh[g]! + (stretches.length === 0 ? 0 : sum / (stretches.length / 2));
    return Math.max(0, baseline - used);
  });
}

/** What counted charges come to in each of a term's groups, which are billing periods. */
function countedAmounts(term: MinimumTerm | CarryTerm, sums: FlowSums): Float64Array {
  const { counted } = term;
  const amounts = sums.ofPrices(counted, term.group, term.groups);
  for (const [t, value] of termValues(counted.terms, sums).entries()) {
    const { period } = counted.terms[t]!;
    for (let g = 0; g < value.amount.length; g++) amounts[period[g]!] = amounts[period[g]!]! + value.amount[g]!;
  }
  return amounts;
}

function minimumValue(term: MinimumTerm, sums: FlowSums): TermValue {
  const quantity = countedAmounts(term, sums);
  const amount = quantity.map((sum, g) => term.share[g]! * Math.max(0, term.amount[g]! - sum));
  return { amount, quantity, left: NONE, due: NONE };
}

function carryValue(term: CarryTerm, sums: FlowSums): TermValue {
  const quantity = countedAmounts(term, sums);
  const amount = new Float64Array(term.groups);
  const due = new Float64Array(term.groups);
  const left = new Float64Array(term.groups);
  const carried = term.carriedIn.slice();
  for (let g = 0; g < term.groups; g++) {
    due[g] = Math.max(0, quantity[g]! - carried[g]!);
    left[g] = Math.max(0, carried[g]! - quantity[g]!);
    amount[g] = due[g]! - quantity[g]!;
    const next = term.next[g]!;
    if (next >= 0) carried[next] = carried[next]! + left[g]!;
    else amount[g] = amount[g]! - term.settleShare[g]! * left[g]!;
  }
  return { amount, quantity, left, due };
}
