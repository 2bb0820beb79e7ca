import type { Axis } from '../axis/index.ts';
import type { CompiledTariff } from './compiled.ts';
import { blocksFit, highestBlock, runsOf, sumOf, sumOfProducts } from './runs.ts';
import type {
  BillTerm,
  CarryTerm,
  CountedCharges,
  DemandTerm,
  MinimumTerm,
  NettingTerm,
  RebateTerm,
  TierTerm,
} from './terms.ts';

/** What passes the service in each interval, kWh, never negative. */
export interface ServiceFlows {
  readonly importKwh: Float64Array;
  readonly exportKwh: Float64Array;
}

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
 * @param flows arrays as long as the tariff's axis, kWh
 */
export function billTotal(compiled: CompiledTariff, flows: ServiceFlows): number {
  const { importKwh, exportKwh } = flows;
  const { importPricePerKwh, exportPricePerKwh } = compiled;
  let total =
    sumOfProducts(importKwh, importPricePerKwh, 0, importKwh.length) -
    sumOfProducts(exportKwh, exportPricePerKwh, 0, exportKwh.length);
  for (const value of evaluateTerms(compiled.axis, compiled.terms, flows))
    for (let g = 0; g < value.amount.length; g++) total += value.amount[g]!;
  return total;
}

/** Values of a list of terms, in its order. */
export function evaluateTerms(axis: Axis, terms: readonly BillTerm[], flows: ServiceFlows): TermValue[] {
  const values: TermValue[] = [];
  for (const term of terms) values.push(evaluateTerm(axis, term, flows, values));
  return values;
}

const NONE = new Float64Array(0);

function evaluateTerm(axis: Axis, term: BillTerm, flows: ServiceFlows, earlier: readonly TermValue[]): TermValue {
  switch (term.kind) {
    case 'fixed':
      return { amount: term.amount, quantity: NONE, left: NONE, due: NONE };
    case 'tier':
      return tierValue(term, flows, earlier);
    case 'demand':
      return demandValue(axis, term, flows.importKwh);
    case 'netting':
      return nettingValue(term, flows);
    case 'rebate':
      return rebateValue(term, flows.importKwh);
    case 'minimum':
      return minimumValue(axis, term, flows);
    case 'carry':
      return carryValue(axis, term, flows);
  }
}

function sumByGroup(group: Int32Array, values: Float64Array, sums: Float64Array, sign: number): void {
  const { starts, groups } = runsOf(group);
  for (let r = 0; r < groups.length; r++) {
    const g = groups[r]!;
    if (g >= 0) sums[g] = sums[g]! + sign * sumOf(values, starts[r]!, starts[r + 1]!);
  }
}

function tierValue(term: TierTerm, flows: ServiceFlows, earlier: readonly TermValue[]): TermValue {
  const quantity = new Float64Array(term.groups);
  if (term.netting === undefined)
    sumByGroup(term.group, term.flow === 'export' ? flows.exportKwh : flows.importKwh, quantity, 1);
  else {
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
export function measuredKw(axis: Axis, term: DemandTerm, importKwh: Float64Array): Float64Array {
  const { group, averagingSteps, phaseSteps } = term;
  const peak = new Float64Array(term.groups);
  const hours = averagingSteps * axis.stepHours;
  if (term.highestDays === 1 && blocksFit(group, averagingSteps, phaseSteps)) {
    const { starts, groups } = runsOf(group);
    for (let r = 0; r < groups.length; r++) {
      const g = groups[r]!;
      if (g < 0) continue;
      const kwh = highestBlock(importKwh, starts[r]!, starts[r + 1]!, averagingSteps);
      if (kwh / hours > peak[g]!) peak[g] = kwh / hours;
    }
    return peak;
  }
  const { day } = axis.calendar;
  const sums = new Float64Array(term.groups);
  const touched = new Uint8Array(term.groups);
  const dayPeak = new Float64Array(term.groups);
  const dayOf = new Int32Array(term.groups).fill(-1);
  const daily: number[][] = Array.from({ length: term.highestDays > 1 ? term.groups : 0 }, () => []);
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
      const kw = sums[g]! / hours;
      sums[g] = 0;
      touched[g] = 0;
      if (kw > peak[g]!) peak[g] = kw;
      if (term.highestDays === 1) continue;
      if (dayOf[g] !== day[i]) {
        if (dayOf[g]! >= 0) daily[g]!.push(dayPeak[g]!);
        dayOf[g] = day[i]!;
        dayPeak[g] = 0;
      }
      if (kw > dayPeak[g]!) dayPeak[g] = kw;
    }
  }
  if (term.highestDays > 1)
    for (let g = 0; g < term.groups; g++) {
      if (dayOf[g]! < 0) continue;
      const peaks = daily[g]!;
      peaks.push(dayPeak[g]!);
      peaks.sort((a, b) => b - a);
      const count = Math.min(term.highestDays, peaks.length);
      let sum = 0;
      for (let k = 0; k < count; k++) sum += peaks[k]!;
      peak[g] = sum / count;
    }
  return peak;
}

function demandValue(axis: Axis, term: DemandTerm, importKwh: Float64Array): TermValue {
  const measured = measuredKw(axis, term, importKwh);
  for (let g = 0; g < measured.length; g++) measured[g] = measured[g]! * term.scale;
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

function nettingValue(term: NettingTerm, flows: ServiceFlows): TermValue {
  const net = new Float64Array(term.groups);
  sumByGroup(term.group, flows.importKwh, net, 1);
  sumByGroup(term.group, flows.exportKwh, net, -1);
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

function rebateValue(term: RebateTerm, importKwh: Float64Array): TermValue {
  const used = new Float64Array(term.groups);
  sumByGroup(term.group, importKwh, used, 1);
  const below = new Float64Array(term.groups);
  const amount = new Float64Array(term.groups);
  for (let g = 0; g < term.groups; g++) {
    const stretches = term.references[g]!;
    let sum = 0;
    for (let s = 0; s < stretches.length; s += 2)
      for (let i = stretches[s]!; i < stretches[s + 1]!; i++) sum += importKwh[i]!;
    const baseline = term.baselineKwh[g]! + (stretches.length === 0 ? 0 : sum / (stretches.length / 2));
    below[g] = Math.max(0, baseline - used[g]!);
    amount[g] = -term.pricePerKwh[g]! * below[g]!;
  }
  return { amount, quantity: below, left: NONE, due: NONE };
}

/** What counted charges come to in each of a term's groups, which are billing periods. */
function countedAmounts(
  axis: Axis,
  counted: CountedCharges,
  group: Int32Array,
  groups: number,
  flows: ServiceFlows,
): Float64Array {
  const sums = new Float64Array(groups);
  const runs = runsOf(group);
  for (let r = 0; r < runs.groups.length; r++) {
    const g = runs.groups[r]!;
    if (g < 0) continue;
    const [from, to] = [runs.starts[r]!, runs.starts[r + 1]!];
    sums[g] =
      sums[g]! +
      sumOfProducts(flows.importKwh, counted.importPricePerKwh, from, to) -
      sumOfProducts(flows.exportKwh, counted.exportPricePerKwh, from, to);
  }
  for (const [t, value] of evaluateTerms(axis, counted.terms, flows).entries()) {
    const { period } = counted.terms[t]!;
    for (let g = 0; g < value.amount.length; g++) sums[period[g]!] = sums[period[g]!]! + value.amount[g]!;
  }
  return sums;
}

function minimumValue(axis: Axis, term: MinimumTerm, flows: ServiceFlows): TermValue {
  const quantity = countedAmounts(axis, term.counted, term.group, term.groups, flows);
  const amount = Float64Array.from(quantity, (sum, g) => term.share[g]! * Math.max(0, term.amount[g]! - sum));
  return { amount, quantity, left: NONE, due: NONE };
}

function carryValue(axis: Axis, term: CarryTerm, flows: ServiceFlows): TermValue {
  const quantity = countedAmounts(axis, term.counted, term.group, term.groups, flows);
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
