import { sum } from '../../axis/sum.ts';
import type { BillTerm, ServiceFlows, TermClock, TermValue } from '../../tariff/index.ts';
import { valuesOf } from '../../tariff/inside.ts';
import {
  applyMultipliers,
  type BoundContext,
  type Multiplied,
  neverRising,
  type PeakPrice,
  type PriceChange,
} from '../../tariff/terms/bound.ts';
import { kindOf } from '../../tariff/terms/registry.ts';
import { planBackward, releasePlan } from './backward.ts';
import { type Judged, tryClasses } from './classes.ts';
import { leftOfBlocks, takenBlocks } from './counted-blocks.ts';
import { finalWorth, peakCost, solvePeaks } from './demand.ts';
import { followForward, type Schedule } from './forward.ts';
import { allOwed, halveWay, leastCost } from './halve-way.ts';
import { lessAllowed } from './less-allowed.ts';
import { alongPath, makeMixture, type TakenPeak } from './mixture.ts';
import { copySteps, type StepProblem } from './problem.ts';
import { quantityRange } from './quantity-range.ts';

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

/**
 * The cheapest schedule on prices and terms. On prices alone it is exact; parts of the bill that bend (tiers, netting,
 * minimum bills, carried credit) get multipliers, found by halving their ranges, blocks that fall by way of their convex
 * envelope; parts that can't be bounded so are bounded by the least that they can come to. Where a gap stays open, what was
 * found with less allowed counts too: nothing is dearer by being allowed.
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
  let best = found;
  const isOpen = () => best.cost - bound > NEAR_PEAKS * Math.max(1, Math.abs(best.cost));
  if (!isOpen()) return found;
  for (const less of lessAllowed(steps)) {
    const tried = solveWithin(less, terms, clock, charges, soldKwh);
    if (tried.cost < best.cost) best = { ...tried, bound, exact: false };
    if (!isOpen()) break;
  }
  return best;
}

function solveWithin(
  steps: StepProblem,
  terms: readonly BillTerm[],
  clock: TermClock,
  charges: readonly PeakPrice[],
  soldKwh: Float64Array | undefined,
): TermsSolution {
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
  /** Since it was last forgotten. */
  let cheapest: (Judged & { readonly cost: number }) | undefined;
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
    if (cheapest === undefined || cost < cheapest.cost) cheapest = { schedule, flows, values, cost };
    return { values, flows };
  };
  const change: PriceChange = { importPerKwh: new Float64Array(n), exportPerKwh: new Float64Array(n) };
  const begun = parts.map(({ multiplier }) => multiplier.slice());
  /**
   * Moves the multipliers to the best bound, and considers the schedules on the way.
   * @param on the steps, or the same under caps on import
   */
  const search = (on: StepProblem, charged: readonly PeakPrice[], takenOf: typeof taken) => {
    const first = on === steps;
    let least = first ? bound : Number.NEGATIVE_INFINITY;
    for (const [k, { multiplier }] of parts.entries()) multiplier.set(begun[k]!);
    /** The steps at the prices that the multipliers make, and the constant that goes with them. */
    const pricedSteps = () => {
      change.importPerKwh.fill(0);
      change.exportPerKwh.fill(0);
      let extra = constant;
      const left = leftOfBlocks(parts, blocks);
      for (const [k, part] of parts.entries()) extra += applyMultipliers(part, change, left[k]);
      soldKwh?.forEach((kwh, i) => {
        extra -= kwh * (on.exportPricePerKwh[i]! + change.exportPerKwh[i]!);
      });
      return { priced: multiplied.length === 0 ? on : withChange(on, change), extra };
    };
    /** One pass at the multipliers as they are. */
    const pass = () => {
      const { priced, extra } = pricedSteps();
      const { schedule, bound: proven, convex } = solve(priced, withoutTaken(charged, parts, takenOf));
      const better = proven + extra > least;
      if (better) least = proven + extra;
      if (first) exact &&= convex;
      return { ...consider(schedule), schedule, better };
    };
    const passes = [pass()];
    // Halving: the ends first, since most groups lie within one block, or owe in every period.
    const ranges = parts.map(({ low, high }) => ({ low: low.slice(), high: high.slice() }));
    const halve = ({ values }: { readonly values: readonly TermValue[] }, ends: boolean): boolean => {
      let moved = false;
      for (const [k, { part, term }] of multiplied.entries()) {
        const value = values[term]!;
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
    const mixture = open() && passes.length === 2 ? makeMixture(on, parts, charged, takenOf, blocks) : undefined;
    if (mixture === undefined) {
      let last = passes[passes.length - 1]!;
      for (let round = passes.length; round < ROUNDS && open() && halve(last, false); round++) last = pass();
      return least;
    }
    for (const each of passes) mixture.add(each.schedule, each.flows);
    let center = parts.map(({ multiplier }) => multiplier.slice());
    let apart = Number.POSITIVE_INFINITY;
    const near = charged.length > 0 ? NEAR_PEAKS : NEAR;
    for (let round = 0; ; round++) {
      const { socKwh, cost } = mixture.mix();
      const before = apart;
      apart = cost + constant - least;
      const still = round > STEADY_ROUNDS && apart > 0.9 * before;
      if (round === MIXED_ROUNDS || still || apart <= near * Math.max(1, Math.abs(least))) {
        consider(solve(alongPath(pricedSteps().priced, socKwh), []).schedule);
        return least;
      }
      // A part of the way: the program's own multipliers jump from end to end while it has few columns.
      const kept = Math.max(0, 0.6 - 0.08 * round);
      for (const [k, { multiplier, next }] of parts.entries()) {
        for (let g = 0; g < multiplier.length; g++) multiplier[g] = (1 - kept) * multiplier[g]! + kept * center[k]![g]!;
        if (next !== undefined) neverRising(multiplier, next);
      }
      const passed = pass();
      if (passed.better) center = parts.map(({ multiplier }) => multiplier.slice());
      mixture.add(passed.schedule, passed.flows);
    }
  };
  bound = search(steps, peaks, taken);
  const planned = { importPerKwh: change.importPerKwh.slice(), exportPerKwh: change.exportPerKwh.slice() };
  if (!closed(best!.cost, bound)) {
    const idle = idleSchedule(steps);
    if (idle !== undefined) consider(idle);
  }
  if (!closed(best!.cost, bound)) {
    const within = (runUnder: (capped: StepProblem) => unknown) =>
      tryClasses(steps, terms, clock.stepHours, (capped) => {
        cheapest = undefined;
        runUnder(capped);
        return cheapest!;
      });
    // At the prices that the bill without caps leads to, and at those that are sought anew within them: neither is always better.
    within((capped) => consider(solve(withChange(capped, planned), []).schedule));
    if (parts.length > 0)
      within((capped) =>
        search(
          capped,
          [],
          parts.map(() => []),
        ),
      );
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
  return { schedule, flows, billTotal: total, cost, bound, exact: exact && closed(cost, bound) };
}

/** Sums of a year's flows times prices, once by step and once by slope. */
function closed(cost: number, bound: number): boolean {
  return cost - bound <= NEAR * Math.max(1, Math.abs(cost));
}

function solve(steps: StepProblem, peaks: readonly PeakPrice[]) {
  if (peaks.length > 0) return solvePeaks(steps, peaks);
  const plan = planBackward(steps);
  const schedule = followForward(steps, plan);
  releasePlan(plan, steps.scratch);
  // A schedule that misses the bound shows a gap; the bound is what the recursion proved.
  return { schedule, bound: plan.bound, convex: plan.convex };
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

interface Relaxation {
  readonly multiplied: readonly { readonly part: Multiplied; readonly term: number }[];
  /** Peak charges that bound from below, and as they stand. */
  readonly peaks: readonly { readonly term: number; readonly peak: PeakPrice }[];
  readonly fullPeaks: readonly PeakPrice[];
  readonly constant: number;
  /** What all comes to at least by a minimum bill. */
  readonly least: number;
  /** Nothing was bounded loosely. */
  readonly exact: boolean;
  /** Some term's true slope may lie elsewhere than the bound's. */
  readonly steep: boolean;
}

/** Which of the peak charges each part takes from, and what. */
function takenOff(
  parts: readonly Multiplied[],
  peaks: Relaxation['peaks'],
  before: number,
): readonly (readonly TakenPeak[])[] {
  return parts.map(({ peaks: own = [] }) =>
    own.flatMap(({ term, perKwh, group }) => {
      const at = peaks.findIndex((peak) => peak.term === term);
      return at < 0 ? [] : [{ peak: before + at, perKwh, group }];
    }),
  );
}

/** Peak charges at the prices that the multipliers leave of them. */
function withoutTaken(
  peaks: readonly PeakPrice[],
  parts: readonly Multiplied[],
  taken: readonly (readonly TakenPeak[])[],
): readonly PeakPrice[] {
  if (taken.every((list) => list.length === 0)) return peaks;
  const prices = peaks.map(({ pricePerKwh }) => pricePerKwh.slice());
  for (const [k, list] of taken.entries())
    for (const { peak, perKwh, group } of list) {
      const price = prices[peak]!;
      for (let g = 0; g < price.length; g++)
        price[g] = Math.max(0, price[g]! - (parts[k]!.multiplier[group[g]!] ?? 0) * perKwh[g]!);
    }
  return peaks.map((peak, c) => ({ ...peak, pricePerKwh: prices[c]! }));
}

/** A bound for each term: what has the form of a price or of a peak charge, and costs no more than the term does. */
function relax(
  steps: StepProblem,
  terms: readonly BillTerm[],
  stepHours: number,
  soldKwh: Float64Array | undefined,
): Relaxation {
  const context: BoundContext = {
    stepHours,
    terms,
    rangeKwh: (flow, group, groups) => {
      const range = quantityRange(steps, flow, group, groups);
      // What is sold in any case lies in its group at the least and at the most.
      if (flow === 'export')
        soldKwh?.forEach((kwh, i) => {
          if (group[i]! < 0) return;
          range.leastKwh[group[i]!]! += kwh;
          range.mostKwh[group[i]!]! += kwh;
        });
      return range;
    },
    mostImportKwh: (i) => Math.max(0, steps.netLoadKwh[i]!) + steps.chargeLimitKwh[i]!,
  };
  const bounds = terms.map((term) => kindOf(term).bound(term, context));
  let constant = 0;
  for (const bound of bounds) constant += bound.constant;
  return {
    multiplied: bounds.flatMap(({ multiplied }, term) =>
      multiplied === undefined ? [] : [{ part: multiplied, term }],
    ),
    peaks: bounds.flatMap(({ peak }, term) => (peak === undefined ? [] : [{ term, peak: peak.bound }])),
    fullPeaks: bounds.flatMap(({ peak }) => (peak === undefined ? [] : [peak.full])),
    constant,
    least: bounds.every(({ exact }) => exact) ? Number.NEGATIVE_INFINITY : leastCost(steps, terms, context),
    exact: bounds.every((bound) => bound.exact),
    steep: bounds.some((bound) => bound.steep),
  };
}

/** What one more kWh costs in each interval beyond its price, as the bill stands. */
function trueSlopes(clock: TermClock, terms: readonly BillTerm[], flows: ServiceFlows, change: PriceChange): void {
  for (const [t, value] of valuesOf(clock, terms, flows).entries()) {
    const term = terms[t]!;
    kindOf(term).addSearchSlopes?.(term, value, change);
  }
}
