import { sum } from '../../axis/sum.ts';
import type { BillTerm, ServiceFlows, TermClock, TermValue } from '../../tariff/index.ts';
import { valuesOf } from '../../tariff/inside.ts';
import {
  applyMultipliers,
  type Multiplied,
  neverRising,
  type PeakPrice,
  type PriceChange,
} from '../../tariff/terms/bound.ts';
import { kindOf } from '../../tariff/terms/registry.ts';
import { planBackward, releasePlan } from './backward.ts';
import { bestClasses, capsOf, classesBeside, classFees, leftOfFees, underCaps, withFees } from './classes.ts';
import { leftOfBlocks, takenBlocks } from './counted-blocks.ts';
import { finalWorth, peakCost, solvePeaks } from './demand.ts';
import { followForward, type Schedule } from './forward.ts';
import { allOwed, halveWay } from './halve-way.ts';
import { lessAllowed } from './less-allowed.ts';
import { alongPath, makeMixture } from './mixture.ts';
import { copySteps, type StepProblem } from './problem.ts';
import { relax, takenOff, withoutTaken } from './relaxation.ts';

/** The best schedule found under a bill with terms, and a proven lower bound on the cost of any. */
export interface TermsSolution {
  readonly schedule: Schedule;
  readonly flows: ServiceFlows;
  /** Unrounded bill of the schedule: prices and terms. */
  readonly billTotal: number;
  /** Bill, wear and `charges`, less the worth of what is left; load unserved at its penalty. */
  readonly cost: number;
  /** Of the same: no schedule costs less. */
  readonly bound: number;
  /** Nothing was bounded loosely, and schedule and bound meet. */
  readonly exact: boolean;
}

/** Passes that halve the multipliers' ranges, and passes that a mixture is made of. */
const ROUNDS = 24;
const MIXED_ROUNDS = 40;
/** Share of the cost to which mixture and bound meet; caps of peak charges are no nearer, and a pass over them takes long. */
const NEAR = 1e-9;
const NEAR_PEAKS = 1e-6;
/** Rounds after which a mixture and its bound that come no nearer to each other are left. */
const STEADY_ROUNDS = 10;
/** Times that multipliers are sought within the classes of power last chosen. */
const CLASS_ROUNDS = 4;

/**
 * The cheapest schedule on prices and terms. On prices alone it is exact; parts of the bill that bend (tiers, netting,
 * minimum bills, carried credit) get multipliers, found by halving their ranges, blocks that fall by way of their convex
 * envelope; parts that can't be bounded so are bounded by the least that they can come to. Where a gap stays open, what was
 * found with less allowed counts too: nothing is dearer by being allowed. It is looked for only where the multipliers found
 * leave room under the best for it.
 *
 * @param charges further peak charges, beside the terms
 * @param soldKwh sold on a meter of its own, whatever the schedule: export beside the steps' own
 */
export function solveTerms(
  steps: StepProblem,
  terms: readonly BillTerm[],
  clock: TermClock,
  charges: readonly PeakPrice[] = [],
  soldKwh?: Float64Array,
): TermsSolution {
  const found = solveWithin(steps, terms, clock, charges, soldKwh);
  const { bound } = found;
  let best: TermsSolution = found;
  const isOpen = () => best.cost - bound > NEAR_PEAKS * Math.max(1, Math.abs(best.cost));
  if (!isOpen()) return found;
  for (const less of lessAllowed(steps)) {
    if (found.boundOf(less) >= best.cost) continue;
    const tried = solveWithin(less, terms, clock, charges, soldKwh);
    if (tried.cost < best.cost) best = { ...tried, bound, exact: false };
    if (!isOpen()) break;
  }
  return best;
}

/** A solution, and a bound that its multipliers prove for the same problem with less allowed: one pass. */
interface Solved extends TermsSolution {
  boundOf(less: StepProblem): number;
}

function solveWithin(
  steps: StepProblem,
  terms: readonly BillTerm[],
  clock: TermClock,
  charges: readonly PeakPrice[],
  soldKwh: Float64Array | undefined,
): Solved {
  const { wearPerKwh } = steps;
  const relaxation = relax(steps, terms, clock.stepHours, soldKwh);
  const { multiplied, constant } = relaxation;
  const parts = multiplied.map(({ part }) => part);
  const peaks = [...charges, ...relaxation.peaks.map(({ peak }) => peak)];
  const taken = takenOff(parts, relaxation.peaks, charges.length);
  const blocks = takenBlocks(multiplied);
  const fullPeaks = [...charges, ...relaxation.fullPeaks];
  const n = steps.intervals;
  let best: { schedule: Schedule; flows: ServiceFlows; total: number; cost: number } | undefined;
  let bound = relaxation.least;
  let exact = relaxation.exact;

  const consider = (schedule: Schedule) => {
    const flows = meterOf(steps, schedule, soldKwh);
    const values = valuesOf(clock, terms, flows);
    let total = 0;
    for (let i = 0; i < n; i++)
      total += flows.importKwh[i]! * steps.importPricePerKwh[i]! - flows.exportKwh[i]! * steps.exportPricePerKwh[i]!;
    for (const { amount } of values) total += sum(amount);
    const cost =
      total +
      peakCost(steps, charges, schedule) +
      wearPerKwh * sum(schedule.dischargeKwh) -
      finalWorth(steps, n - 1, schedule) +
      schedule.unservedCost;
    if (best === undefined || cost < best.cost) best = { schedule, flows, total, cost };
    return { values, flows };
  };
  const change: PriceChange = { importPerKwh: new Float64Array(n), exportPerKwh: new Float64Array(n) };
  const begun = parts.map(({ multiplier }) => multiplier.slice());
  /** The steps at the prices that the multipliers make, and the constant that goes with them. */
  const pricedSteps = (on: StepProblem, own: readonly Multiplied[]) => {
    change.importPerKwh.fill(0);
    change.exportPerKwh.fill(0);
    let extra = constant;
    const left = leftOfBlocks(own, blocks);
    for (const [k, part] of own.entries()) extra += applyMultipliers(part, change, left[k]);
    soldKwh?.forEach((kwh, i) => {
      extra -= kwh * (on.exportPricePerKwh[i]! + change.exportPerKwh[i]!);
    });
    return { priced: multiplied.length === 0 ? on : withChange(on, change), extra };
  };
  /** The multipliers of the last search's best bound, and what they make of import prices under peak charges. */
  let proof: { multipliers: readonly Float64Array[]; raisedPricePerKwh: Float64Array | undefined; constant: number };
  /**
   * Moves the multipliers to the best bound, and considers the schedules on the way.
   * @param on the steps, or the same under caps on import
   * @param own the parts, or the same with other quantities to begin with
   */
  const search = (
    on: StepProblem,
    own: readonly Multiplied[],
    charged: readonly PeakPrice[],
    takenOf: typeof taken,
  ): number => {
    const first = on === steps;
    let least = first ? bound : Number.NEGATIVE_INFINITY;
    for (const [k, { multiplier }] of own.entries()) multiplier.set(begun[k]!);
    let highest = Number.NEGATIVE_INFINITY;
    /** One pass at the multipliers as they are. */
    const pass = () => {
      const { priced, extra } = pricedSteps(on, own);
      const { schedule, bound: proven, convex, ...raised } = solve(priced, withoutTaken(charged, own, takenOf));
      const better = proven + extra > least;
      if (better) least = proven + extra;
      if (proven + extra > highest) {
        highest = proven + extra;
        proof = { multipliers: own.map(({ multiplier }) => multiplier.slice()), ...raised };
      }
      if (first) exact &&= convex;
      return { ...consider(schedule), schedule, better };
    };
    const passes = [pass()];
    // Halving: the ends first, since most groups lie within one block, or owe in every period.
    const ranges = own.map(({ low, high }) => ({ low: low.slice(), high: high.slice() }));
    const halve = ({ values }: { readonly values: readonly TermValue[] }, ends: boolean): boolean => {
      let moved = false;
      for (const [k, part] of own.entries()) {
        const value = values[multiplied[k]!.term]!;
        const { low, high } = ranges[k]!;
        for (let g = 0; g < part.multiplier.length; g++) {
          const direction = part.direction(value, g);
          if (direction === 0) continue;
          const at = part.multiplier[g]!;
          if (direction > 0) low[g] = Math.max(low[g]!, at);
          else high[g] = Math.min(high[g]!, at);
          const to = ends ? (direction > 0 ? high[g]! : low[g]!) : 0.5 * (low[g]! + high[g]!);
          if (Math.abs(to - at) > 1e-12) moved = true;
          part.multiplier[g] = to;
        }
        if (part.next !== undefined) neverRising(part.multiplier, part.next);
      }
      return moved;
    };
    const open = () => !closed(best!.cost, least);
    while (open() && passes.length < 2 && halve(passes[passes.length - 1]!, passes.length === 1)) passes.push(pass());
    const mixture = open() && passes.length === 2 ? makeMixture(on, own, charged, takenOf, blocks) : undefined;
    if (mixture === undefined) {
      let last = passes[passes.length - 1]!;
      for (let round = passes.length; round < ROUNDS && open() && halve(last, false); round++) last = pass();
      return least;
    }
    for (const each of passes) mixture.add(each.schedule, each.flows);
    let center = own.map(({ multiplier }) => multiplier.slice());
    let apart = Number.POSITIVE_INFINITY;
    const near = charged.length > 0 ? NEAR_PEAKS : NEAR;
    for (let round = 0; ; round++) {
      const { socKwh, cost } = mixture.mix();
      const before = apart;
      apart = cost + constant - least;
      const still = round > STEADY_ROUNDS && apart > 0.9 * before;
      if (round === MIXED_ROUNDS || still || apart <= near * Math.max(1, Math.abs(least))) {
        consider(solve(alongPath(pricedSteps(on, own).priced, socKwh), []).schedule);
        return least;
      }
      // A part of the way: the program's own multipliers jump from end to end while it has few columns.
      const kept = Math.max(0, 0.6 - 0.08 * round);
      for (const [k, { multiplier, next }] of own.entries()) {
        for (let g = 0; g < multiplier.length; g++) multiplier[g] = (1 - kept) * multiplier[g]! + kept * center[k]![g]!;
        if (next !== undefined) neverRising(multiplier, next);
      }
      const passed = pass();
      if (passed.better) center = own.map(({ multiplier }) => multiplier.slice());
      mixture.add(passed.schedule, passed.flows);
    }
  };
  /** The problem at the prices that prove a bound, peak charges in them, and the constant that goes with them. */
  const atProof = (on: StepProblem, { multipliers, raisedPricePerKwh, constant: ofPeaks } = proof!) => {
    for (const [k, { multiplier }] of parts.entries()) multiplier.set(multipliers[k]!);
    const { priced, extra } = pricedSteps(on, parts);
    const raised = copySteps(priced);
    raised.importPricePerKwh = raisedPricePerKwh ?? priced.importPricePerKwh;
    return { raised, constant: extra + ofPeaks };
  };
  bound = search(steps, parts, peaks, taken);
  const first = proof!;
  if (!closed(best!.cost, bound)) {
    const idle = idleSchedule(steps);
    if (idle !== undefined) consider(idle);
  }
  // Of several fees by class each is tried under the caps of those before it.
  let under = steps;
  for (const fees of closed(best!.cost, bound) ? [] : classFees(terms, clock.stepHours)) {
    const seen = new Set<string>();
    const before = under;
    let last: Int32Array | undefined;
    /** Within these classes other multipliers lead on. */
    const searchWithin = (chosen: Int32Array) => {
      under = underCaps(before, capsOf(fees, chosen));
      const none = parts.map(() => []);
      search(under, withFees(parts, fees, chosen), [], none);
    };
    for (let round = 0; round < CLASS_ROUNDS; round++) {
      const { raised, constant: apart } = atProof(before);
      const { bound: proven, chosen } = bestClasses(raised, fees, leftOfFees(fees, parts));
      if (before === steps) bound = Math.max(bound, proven + apart);
      consider(solve(underCaps(raised, capsOf(fees, chosen)), []).schedule);
      if (parts.length === 0 || closed(best!.cost, bound)) break;
      if (seen.has(chosen.join())) break;
      seen.add(chosen.join());
      last = chosen;
      searchWithin(chosen);
    }
    // What multipliers promise a mixture of classes may keep, and no schedule: those beside are tried as well.
    if (last === undefined || closed(best!.cost, bound)) continue;
    for (const other of classesBeside(fees, last)) searchWithin(other);
    under = underCaps(before, capsOf(fees, last));
  }
  // Schedules that follow the true slopes of the bill, which a bound may not.
  if (!closed(best!.cost, bound) && relaxation.steep) {
    for (let k = 0; k < 3; k++) {
      change.importPerKwh.fill(0);
      change.exportPerKwh.fill(0);
      trueSlopes(clock, terms, best!.flows, change);
      const before: number = best!.cost;
      consider(solve(withChange(steps, change), fullPeaks).schedule);
      if (!(best!.cost < before)) break;
    }
  }
  for (const term of terms) {
    if (term.kind !== 'minimum' || relaxation.exact || closed(best!.cost, bound)) continue;
    const owed = withChange(steps, allOwed(term));
    for (const charged of [[], fullPeaks])
      halveWay(
        best!.schedule.socKwh,
        solve(owed, charged).schedule,
        (path) => solve(alongPath(steps, path), []).schedule,
        (schedule) => {
          const before = best!.cost;
          consider(schedule);
          return best!.cost < before;
        },
      );
  }
  const { schedule, flows, total, cost } = best!;
  return {
    schedule,
    flows,
    billTotal: total,
    cost,
    bound,
    exact: exact && closed(cost, bound),
    boundOf(less) {
      const { raised, constant: apart } = atProof(less, first);
      const plan = planBackward(raised);
      releasePlan(plan, less.scratch);
      return plan.bound + apart;
    },
  };
}

/** Sums of a year's flows times prices, once by step and once by slope. */
function closed(cost: number, bound: number): boolean {
  return cost - bound <= NEAR * Math.max(1, Math.abs(cost));
}

function solve(steps: StepProblem, peaks: readonly PeakPrice[]) {
  if (peaks.length > 0) {
    const { schedule, bound, convex, raisedPricePerKwh, raisedConstant: constant } = solvePeaks(steps, peaks);
    return { schedule, bound, convex, raisedPricePerKwh, constant };
  }
  const plan = planBackward(steps);
  const schedule = followForward(steps, plan);
  releasePlan(plan, steps.scratch);
  // A schedule that misses the bound shows a gap; the bound is what the recursion proved.
  return { schedule, bound: plan.bound, convex: plan.convex, raisedPricePerKwh: undefined, constant: 0 };
}

/** The battery left alone; undefined where what is stored leaves its band by that. */
function idleSchedule(steps: StepProblem): Schedule | undefined {
  const { intervals, lowKwh, highKwh, floorKwh, decay } = steps;
  let socKwh = steps.initialKwh;
  for (let i = 0; i < intervals; i++) {
    socKwh -= decay * Math.max(0, socKwh - floorKwh[i]!);
    if (socKwh < lowKwh[i]! - 1e-12 || socKwh > highKwh[i]! + 1e-12) return undefined;
  }
  const still = copySteps(steps);
  still.chargeLimitKwh = new Float64Array(intervals);
  still.dischargeLimitKwh = new Float64Array(intervals);
  return solve(still, []).schedule;
}

function withChange(steps: StepProblem, change: PriceChange): StepProblem {
  const add = (prices: Float64Array, more: Float64Array) => prices.map((price, i) => price + more[i]!);
  const changed = copySteps(steps);
  changed.importPricePerKwh = add(steps.importPricePerKwh, change.importPerKwh);
  changed.exportPricePerKwh = add(steps.exportPricePerKwh, change.exportPerKwh);
  return changed;
}

/** What passes the meter under a schedule. */
function meterOf(steps: StepProblem, schedule: Schedule, soldKwh: Float64Array | undefined): ServiceFlows {
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
  soldKwh?.forEach((kwh, i) => {
    exportKwh[i]! += kwh;
  });
  return { importKwh, exportKwh };
}

/** What one more kWh costs in each interval beyond its price, as the bill stands. */
function trueSlopes(clock: TermClock, terms: readonly BillTerm[], flows: ServiceFlows, change: PriceChange): void {
  for (const [t, value] of valuesOf(clock, terms, flows).entries()) {
    const term = terms[t]!;
    kindOf(term).addSearchSlopes?.(term, value, change);
  }
}
