import { type Levels, makeLevels, type PreparedPlant, preparePlant } from '../../plant/index.ts';
import {
  billTotal,
  type CompiledTariff,
  type DemandTerm,
  evaluateTerms,
  type RebateTerm,
  type ServiceFlows,
  type TierTerm,
} from '../../tariff/index.ts';
import type { Home } from '../run.ts';
import type { Planner, Strategy } from '../strategy.ts';
import { makeReachable, planBackward, releasePlan } from './backward.ts';
import { type PeakCharge, solvePeaks } from './demand.ts';
import { followForward, type Schedule } from './forward.ts';
import { homeProblem } from './home-problem.ts';
import {
  type Multiplied,
  multipliedCarry,
  multipliedMinimum,
  multipliedNetting,
  multipliedTier,
  type PriceChange,
} from './multiplied.ts';
import { releaseSteps, type StepProblem, toSteps } from './problem.ts';

/** The best schedule found for a home on its tariff, and what is proven about it. */
export interface Hindsight {
  readonly schedule: Schedule;
  readonly flows: ServiceFlows;
  /** Unrounded bill of the schedule. */
  readonly billTotal: number;
  /** No schedule's bill is lower. */
  readonly boundTotal: number;
  readonly proof: 'exact' | 'gap';
}

export interface HindsightOptions {
  /** Money per AC kWh discharged, weighed in the schedule and not in the bill. @defaultValue 0 */
  readonly wearPerKwh?: number;
  /** Result of `preparePlant` for this home, where others use it too. */
  readonly prepared?: PreparedPlant;
}

const ROUNDS = 24;

/**
 * The cheapest way to have run a home's battery, all known beforehand. On prices alone it is exact; parts of the bill
 * that bend (tiers, netting, minimum bills, carried credit) get multipliers, found by halving their ranges; parts that
 * can't be bounded so are bounded by the least that they can come to.
 */
export function bestInHindsight(home: Home, options: HindsightOptions = {}): Hindsight {
  const { wearPerKwh = 0, prepared = prepare(home) } = options;
  const { tariff } = home;
  const steps = toSteps({ ...homeProblem(prepared, tariff), wearPerKwh });
  makeReachable(steps);
  // Buy-all, sell-all: the battery doesn't change the bill.
  if (tariff.metering === 'gross') return withoutEffect(home, steps);
  const relaxation = relax(prepared, tariff);
  const { multiplied, peaks, constant } = relaxation;
  const n = steps.intervals;
  let best: { schedule: Schedule; flows: ServiceFlows; total: number; weighed: number } | undefined;
  let bound = Number.NEGATIVE_INFINITY;
  let exact = relaxation.exact;

  const consider = (schedule: Schedule, bills: boolean) => {
    const flows = meterOf(steps, schedule);
    const values = bills ? evaluateTerms(tariff.axis, tariff.terms, flows) : [];
    const total = billTotal(tariff, flows);
    const weighed = total + wearPerKwh * sum(schedule.dischargeKwh) + schedule.unservedCost;
    if (best === undefined || weighed < best.weighed) best = { schedule, flows, total, weighed };
    return values;
  };
  const change: PriceChange = { importPerKwh: new Float64Array(n), exportPerKwh: new Float64Array(n) };
  for (let round = 0; round < (multiplied.length > 0 ? ROUNDS : 1); round++) {
    change.importPerKwh.fill(0);
    change.exportPerKwh.fill(0);
    let extra = constant;
    for (const { part } of multiplied) extra += part.apply(change);
    const priced = multiplied.length === 0 ? steps : withChange(steps, change);
    const solved = solve(priced, peaks);
    if (solved.bound + extra > bound) bound = solved.bound + extra;
    exact &&= solved.convex;
    const values = consider(solved.schedule, multiplied.length > 0);
    if (closed(best!.weighed, bound)) break;
    let moved = false;
    for (const { part, term } of multiplied) {
      const value = values[term]!;
      for (let g = 0; g < part.multiplier.length; g++) {
        const direction = part.direction(value, g);
        if (direction === 0) continue;
        const at = part.multiplier[g]!;
        if (direction > 0) part.low[g] = Math.max(part.low[g]!, at);
        else part.high[g] = Math.min(part.high[g]!, at);
        // The ends first: most groups lie within one block, or owe in every period.
        const to = round === 0 ? (direction > 0 ? part.high[g]! : part.low[g]!) : 0.5 * (part.low[g]! + part.high[g]!);
        if (Math.abs(to - at) > 1e-12) moved = true;
        part.multiplier[g] = to;
      }
      part.settle();
    }
    if (!moved) break;
  }
  // Schedules that follow the true slopes of the bill, which a bound may not.
  if (!closed(best!.weighed, bound) && relaxation.steep) {
    for (let k = 0; k < 3; k++) {
      change.importPerKwh.fill(0);
      change.exportPerKwh.fill(0);
      trueSlopes(tariff, best!.flows, change);
      const before: number = best!.weighed;
      consider(solve(withChange(steps, change), relaxation.fullPeaks).schedule, false);
      if (!(best!.weighed < before)) break;
    }
  }
  const { schedule, flows, total, weighed } = best!;
  releaseSteps(steps);
  const gap = Math.max(0, weighed - bound);
  const proven = exact && closed(weighed, bound);
  return {
    schedule,
    flows,
    billTotal: total,
    boundTotal: proven ? total : total - gap,
    proof: proven ? 'exact' : 'gap',
  };
}

function prepare(home: Home): PreparedPlant {
  return preparePlant(home.axis, home.loadKwh, home.solarKwh, home.plant, home.service);
}

function withoutEffect(home: Home, steps: StepProblem): Hindsight {
  const plan = planBackward(steps);
  const schedule = followForward(steps, plan);
  const flows = meterOf(steps, schedule);
  releasePlan(plan);
  releaseSteps(steps);
  const total = billTotal(home.tariff, { importKwh: home.loadKwh, exportKwh: home.solarKwh });
  return { schedule, flows, billTotal: total, boundTotal: total, proof: 'exact' };
}

/** 1e-9: sums of a year's flows times prices, once by step and once by slope. */
function closed(cost: number, bound: number): boolean {
  return cost - bound <= 1e-9 * Math.max(1, Math.abs(cost));
}

function solve(steps: StepProblem, peaks: readonly PeakCharge[]) {
  if (peaks.length > 0) return solvePeaks(steps, peaks);
  const plan = planBackward(steps);
  const schedule = followForward(steps, plan);
  releasePlan(plan);
  // A schedule that misses the bound shows a gap; the bound is what the recursion proved.
  return { schedule, bound: plan.bound, convex: plan.convex };
}

function withChange(steps: StepProblem, change: PriceChange): StepProblem {
  const add = (prices: Float64Array, more: Float64Array) => prices.map((price, i) => price + more[i]!);
  return {
    ...steps,
    importPricePerKwh: add(steps.importPricePerKwh, change.importPerKwh),
    exportPricePerKwh: add(steps.exportPricePerKwh, change.exportPerKwh),
  };
}

/** What passes the meter under a schedule. */
function meterOf(steps: StepProblem, schedule: Schedule): ServiceFlows {
  const n = steps.intervals;
  const importKwh = new Float64Array(n);
  const exportKwh = new Float64Array(n);
  const { chargeKwh, dischargeKwh, curtailedKwh, unservedKwh } = schedule;
  for (let i = 0; i < n; i++) {
    const clipped = steps.clippedKwh === undefined ? 0 : steps.clippedKwh[i]!;
    const flow = steps.netLoadKwh[i]! - clipped + curtailedKwh[i]! + chargeKwh[i]! - dischargeKwh[i]! - unservedKwh[i]!;
    if (flow > 0) importKwh[i] = flow;
    else exportKwh[i] = -flow;
  }
  return { importKwh, exportKwh };
}

interface Relaxation {
  readonly multiplied: readonly { readonly part: Multiplied; readonly term: number }[];
  /** Peak charges that bound from below, and as they stand. */
  readonly peaks: readonly PeakCharge[];
  readonly fullPeaks: readonly PeakCharge[];
  readonly constant: number;
  /** Nothing was bounded loosely. */
  readonly exact: boolean;
  /** Some term's true slope may lie elsewhere than the bound's. */
  readonly steep: boolean;
}

/** Puts something straight under every term. */
function relax(prepared: PreparedPlant, tariff: CompiledTariff): Relaxation {
  const multiplied: { part: Multiplied; term: number }[] = [];
  const peaks: PeakCharge[] = [];
  const fullPeaks: PeakCharge[] = [];
  let constant = 0;
  let exact = true;
  let steep = false;
  for (const [t, term] of tariff.terms.entries()) {
    const use = (part: Multiplied | undefined) => {
      if (part !== undefined) multiplied.push({ part, term: t });
      return part !== undefined;
    };
    switch (term.kind) {
      case 'fixed':
        constant += sum(term.amount);
        break;
      case 'tier':
        if (term.netting !== undefined) {
          constant += leastOfTier(term, mostImport(prepared));
          exact = false;
          steep = true;
        } else if (term.convex) use(multipliedTier(term));
        else {
          constant += leastOfTier(term, mostImport(prepared));
          exact = false;
          steep = true;
        }
        break;
      case 'demand': {
        const full = peakOf(prepared, term, 1);
        if (full === undefined) {
          constant += sum(term.steps!.share) * Math.min(...term.steps!.amount);
          exact = false;
          break;
        }
        fullPeaks.push(full);
        peaks.push(term.highestDays > 1 ? peakOf(prepared, term, term.highestDays)! : full);
        if (term.highestDays > 1 || term.ratchet !== undefined) {
          exact = false;
          steep = true;
        }
        break;
      }
      case 'netting':
        use(multipliedNetting(term));
        break;
      case 'rebate':
        constant -= mostRebate(prepared, term);
        exact = false;
        steep = true;
        break;
      case 'minimum':
        // Left out it is 0 at least.
        if (!use(multipliedMinimum(term))) exact = false;
        break;
      case 'carry':
        // At full worth everywhere only what was carried in from before counts.
        if (!use(multipliedCarry(term))) {
          constant -= sum(term.carriedIn);
          exact = false;
        }
        break;
    }
  }
  return { multiplied, peaks, fullPeaks, constant, exact, steep };
}

/** A demand term as a peak charge, its price divided by `days`; undefined for capacity steps. */
function peakOf(prepared: PreparedPlant, term: DemandTerm, days: number): PeakCharge | undefined {
  if (term.steps !== undefined) return undefined;
  const { stepHours } = prepared.axis;
  const leastKwh = new Float64Array(term.groups);
  const pricePerKwh = new Float64Array(term.groups);
  for (let g = 0; g < term.groups; g++) {
    let least = term.minimumKw[g]!;
    if (term.ratchet !== undefined) least = Math.max(least, term.ratchet.share * term.ratchet.historyKw[g]!);
    // Over several days the mean is at least the highest day's share, and at least nothing of the minimum is lost.
    pricePerKwh[g] = (term.pricePerKw[g]! * term.scale) / days / stepHours;
    leastKwh[g] = days === 1 ? (least / term.scale) * stepHours : (least / term.scale) * stepHours * days;
  }
  return { group: term.group, pricePerKwh, leastKwh, averagingSteps: term.averagingSteps, phaseSteps: term.phaseSteps };
}

/** The most that a home could import in an interval, kWh, added up a group. */
function mostImport(prepared: PreparedPlant): (group: Int32Array, g: number) => number {
  const { netKwh, plant, axis } = prepared;
  const chargeKwh = plant.chargeLimitKw * axis.stepHours;
  return (group, g) => {
    let most = 0;
    for (let i = 0; i < netKwh.length; i++) if (group[i] === g) most += Math.max(0, netKwh[i]!) + chargeKwh;
    return most;
  };
}

/** The least that blocks can come to, over any quantity that could occur. */
function leastOfTier(term: TierTerm, most: (group: Int32Array, g: number) => number): number {
  const sign = term.flow === 'export' ? -1 : 1;
  let constant = 0;
  for (let g = 0; g < term.groups; g++) {
    const limit = term.netting === undefined && term.flow === 'import' ? most(term.group, g) : 1e6;
    let least = 0;
    let cost = 0;
    let before = 0;
    for (const [k, bound] of term.upToKwh[g]!.entries()) {
      const until = Math.min(bound, limit);
      if (until <= before) break;
      cost += sign * term.adderPerKwh[g]![k]! * (until - before);
      before = until;
      least = Math.min(least, cost);
    }
    constant += least;
  }
  return constant;
}

function mostRebate(prepared: PreparedPlant, term: RebateTerm): number {
  const { netKwh, plant, axis } = prepared;
  const chargeKwh = plant.chargeLimitKw * axis.stepHours;
  let most = 0;
  for (let g = 0; g < term.groups; g++) {
    const stretches = term.references[g]!;
    let kwh = 0;
    for (let s = 0; s < stretches.length; s += 2)
      for (let i = stretches[s]!; i < stretches[s + 1]!; i++) kwh += Math.max(0, netKwh[i]!) + chargeKwh;
    const baseline = term.baselineKwh[g]! + (stretches.length === 0 ? 0 : kwh / (stretches.length / 2));
    most += Math.max(0, term.pricePerKwh[g]! * baseline);
  }
  return most;
}

/** What one more kWh costs in each interval beyond its price, as the bill stands. */
function trueSlopes(tariff: CompiledTariff, flows: ServiceFlows, change: PriceChange): void {
  const values = evaluateTerms(tariff.axis, tariff.terms, flows);
  for (const [t, term] of tariff.terms.entries()) {
    const value = values[t]!;
    if (term.kind === 'tier' && term.netting === undefined)
      for (let i = 0; i < term.group.length; i++) {
        const g = term.group[i]!;
        if (g < 0) continue;
        const bounds = term.upToKwh[g]!;
        let k = 0;
        while (k < bounds.length - 1 && value.quantity[g]! > bounds[k]!) k++;
        const prices = term.flow === 'export' ? change.exportPerKwh : change.importPerKwh;
        prices[i] = prices[i]! + term.adderPerKwh[g]![k]!;
      }
    else if (term.kind === 'rebate')
      for (let i = 0; i < term.group.length; i++) {
        const g = term.group[i]!;
        if (g >= 0 && value.quantity[g]! > 0) change.importPerKwh[i] = change.importPerKwh[i]! + term.pricePerKwh[g]!;
      }
    else if (term.kind === 'netting')
      for (let i = 0; i < term.group.length; i++) {
        const g = term.group[i]!;
        if (g < 0 || value.due[g]! > 0) continue;
        const worth = term.next[g]! >= 0 ? term.pricePerKwh[g]! : term.surplusPerKwh[g]!;
        change.importPerKwh[i] = change.importPerKwh[i]! + worth - term.pricePerKwh[g]!;
        change.exportPerKwh[i] = change.exportPerKwh[i]! + worth - term.pricePerKwh[g]!;
      }
  }
}

/** A schedule as levels: each step is told where to end. */
export function levelsOf(
  prepared: PreparedPlant,
  schedule: Schedule,
  levels: Levels = makeLevels(prepared.axis.intervals),
) {
  const { netKwh } = prepared;
  const { chargeKwh, dischargeKwh, socKwh } = schedule;
  for (let i = 0; i < netKwh.length; i++) {
    const end = socKwh[i]!;
    const net = netKwh[i]!;
    const charge = chargeKwh[i]!;
    const discharge = dischargeKwh[i]!;
    levels.solarChargeToKwh[i] = charge > 0 ? end : Number.NEGATIVE_INFINITY;
    levels.gridChargeToKwh[i] = charge > Math.max(0, -net) + 1e-12 ? end : Number.NEGATIVE_INFINITY;
    levels.serveDownToKwh[i] = discharge > 0 ? end : Number.POSITIVE_INFINITY;
    levels.exportDownToKwh[i] = discharge > Math.max(0, net) + 1e-12 ? end : Number.POSITIVE_INFINITY;
  }
  return levels;
}

/**
 * The best possible in hindsight, as a strategy like any other; `made` where it was computed for this home before.
 *
 * @param wearPerKwh money per AC kWh discharged that the schedule counts: a cycle that earns less is not made
 */
export function optimum(made?: Hindsight, wearPerKwh = 0): Strategy {
  return {
    name: wearPerKwh > 0 ? 'optimum-wear' : 'optimum',
    knowledge: 'foresight',
    begin(view) {
      const prepared = prepare(view);
      return new Replay(prepared, (made ?? bestInHindsight(view, { prepared, wearPerKwh })).schedule);
    },
  };
}

class Replay implements Planner {
  private readonly prepared: PreparedPlant;
  private readonly schedule: Schedule;

  constructor(prepared: PreparedPlant, schedule: Schedule) {
    this.prepared = prepared;
    this.schedule = schedule;
  }

  plan(_from: number, _socKwh: number, levels: Levels): number {
    levelsOf(this.prepared, this.schedule, levels);
    return this.prepared.axis.intervals;
  }
}

function sum(values: Float64Array): number {
  let total = 0;
  for (let i = 0; i < values.length; i++) total += values[i]!;
  return total;
}
