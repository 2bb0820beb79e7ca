import { sum } from '../../axis/sum.ts';
import type { PeakPrice } from '../../tariff/terms/bound.ts';
import { type Plan, planBackward, releasePlan, type ValueCurve } from './backward.ts';
import { costAt, higherOf, lowerOf } from './curve.ts';
import { followForward, type Schedule, type ValueBounds } from './forward.ts';
import { LeastCost } from './least-cost.ts';
import { capMultipliers } from './multipliers.ts';
import { copySteps, type StepProblem } from './problem.ts';
import { sliceOf, startBand } from './slice.ts';

/** A schedule under peak charges, its whole cost, and a proven lower bound on the cost of any. */
export interface PeakSolution {
  readonly schedule: Schedule;
  /** Energy, wear and peaks; unserved load apart. */
  readonly cost: number;
  /** Of the same, unserved load at its penalty included. */
  readonly bound: number;
  /** Import prices with multipliers added: the optimum on them and this constant together are a bound too. */
  readonly raisedPricePerKwh: Float64Array;
  readonly raisedConstant: number;
  readonly convex: boolean;
}

/** One group's cap, and the multipliers of the two lines that hold its cost up there. */
interface Cap {
  readonly charge: PeakPrice;
  readonly group: number;
  readonly priced: number;
  readonly least: number;
  /** Highest import with no cap. */
  readonly peakKwh: number;
  kwh: number;
  /** Share of the falling line's multipliers in the bound. */
  lowShare: number;
  lowMultipliers: Float64Array;
  highMultipliers: Float64Array;
}

/** Intervals `[first, end)`, of a cut of the whole, that share caps; none of a cap's intervals lies outside. */
interface Stretch {
  readonly first: number;
  end: number;
  readonly caps: Cap[];
  /** Caps tried before one and the same value of what is left at the end. */
  after: ValueCurve | undefined;
  readonly tried: Tried[];
  /** Which of the caps holds each interval; −1 none. */
  holder: Int8Array;
  /** Lines read under the cost of several caps. */
  lines: number;
  /** Where the lines of several caps were read that the last mixture was of: the next begins with them. */
  seeds: readonly (readonly number[])[];
  /** What was last settled. */
  settled?: Settled;
}

/** The cost of a stretch under one cap, whatever it starts with, and what a kWh more of the cap makes of it. */
interface Tried {
  readonly kwh: number;
  readonly start: ValueCurve;
  readonly rise: NonNullable<Plan['rise']>;
  readonly convex: boolean;
}

/** A stretch's caps in their corners, for one start and one value of what is left at the end. */
interface Settled {
  readonly start: number;
  readonly after: ValueCurve | undefined;
  /** Money by which a corner may be missed; 0 for rounding alone. */
  readonly tolerance: number;
  readonly corners: Map<Cap, Corner>;
  schedule?: Schedule;
  weighed?: boolean;
  /** Of each of several caps: the mixture of multipliers that adds up to its price. */
  mixed?: readonly Float64Array[];
}

/** Where in the band the first values are tried, and how far from its corner a cap may then be, as a share of cost. */
const STARTS = [0, 0.02, 0.3];
const ROUGH = 1e-6;
/** Values from above are trusted to this share of the cost. */
const UPPER_SLACK = 3 * ROUGH;
const ROUNDS = 40;
const SWEEPS = 12;
/** How far from a corner its lines are read: more than rounding, less than most pieces of them. */
const ASIDE_KWH = [2e-6, 1e-4];
/** Several caps of a stretch: lines at the most, what none of their mixtures costs, and how near they come as a share of cost. */
const LINES_BESIDE = 40;
const LINES_A_CAP = 10;
const BIG = 1e9;
const TOGETHER = 1e-7;
/** By how much corners of several caps may be missed in all: at first as a share of the cost, then of the gap that is open. */
const FIRST_SLACK = 1e-4;
const SLACK_OF_GAP = 0.05;
/** A gap of less than this share of the cost is left alone. */
const SETTLED = 5e-7;
/** With several caps a gap of this share is left too, once so many lines were read: many caps take long. */
const MOST_LINES = 3000;
const SETTLED_TOGETHER = 5e-4;

/**
 * The best schedule under peak charges. For a given cap the problem keeps its form (import above it at a penalty);
 * its cost is convex and piecewise linear in the cap, so supporting lines and their crossing find the corner in a
 * few evaluations of that stretch alone. Where a stretch has one cap, the caps tried from several starts bound its value
 * from above over the whole band, which gives the first schedule. The multipliers of the lines, mixed so that they add up
 * to the price, raise the import prices of an ordinary problem, whose value function lies under the true one everywhere
 * and touches it at the energy that it was made for. Stretches are tied by these functions: backward they are raised,
 * forward they are followed, until the schedule costs what they promise to within {@link SETTLED}.
 */
export function solvePeaks(problem: StepProblem, stated: readonly PeakPrice[]): PeakSolution {
  const n = problem.intervals;
  const charges = ofOnePeak(stated);
  const free = planBackward(problem);
  let schedule = followForward(problem, free);
  releasePlan(free, problem.scratch);
  const stretches = layOut(problem, charges, schedule);
  const capped = copySteps(problem);
  capped.importCapKwh = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
  capped.overCapPerKwh = new Float64Array(n);
  const raised = problem.importPricePerKwh.slice();
  const relaxed = copySteps(problem);
  relaxed.importPricePerKwh = raised;
  /** Lower bound of the cost to go at the start of each stretch. */
  const curves: (ValueCurve | undefined)[] = stretches.map(() => undefined);
  let best: { schedule: Schedule; cost: number } | undefined;
  let bound = Number.NEGATIVE_INFINITY;
  let raisedBest: Float64Array = problem.importPricePerKwh;
  let raisedConstant = 0;
  const constants = new Float64Array(stretches.length);
  let convex = true;
  let bestCost = schedule.cost;
  let gap = Number.POSITIVE_INFINITY;
  const together = stretches.some(({ caps }) => caps.length > 1);
  let slack = together ? (FIRST_SLACK * Math.max(1, Math.abs(bestCost))) / stretches.length : 0;

  const follow = (afters: readonly (ValueCurve | undefined)[], tolerance?: number) => {
    let start = problem.initialKwh;
    const parts: Schedule[] = [];
    for (const [s, stretch] of stretches.entries()) {
      const part = scheduleOf(capped, stretch, settleCaps(capped, stretch, afters[s + 1], start, true, tolerance));
      parts.push(part);
      start = part.socKwh[part.socKwh.length - 1]!;
    }
    schedule = joinParts(problem, stretches, parts);
    const cost = schedule.cost + peakCost(problem, charges, schedule);
    if (best === undefined || cost + schedule.unservedCost < best.cost + best.schedule.unservedCost)
      best = { schedule, cost };
  };
  /** Raises the bound of a stretch's cost to go by its caps' multipliers. */
  const raise = (s: number, start: number) => {
    const stretch = stretches[s]!;
    const constant = raisePrices(problem, stretch, raised);
    constants[s] = constant;
    const plan = planBackward(sliceOf(relaxed, stretch.first, stretch.end, start), {
      after: curves[s + 1],
      ...startBand(problem, stretch.first, start),
    });
    releasePlan(plan, problem.scratch);
    convex &&= plan.convex;
    const curve = { ...plan.start, costAtLow: plan.start.costAtLow + constant };
    if (s > 0) {
      const before = curves[s];
      curves[s] = before === undefined ? curve : higherOf(before, curve, 1e-11 * Math.max(1, Math.abs(bestCost)));
    } else if (curve.costAtLow > bound) {
      bound = curve.costAtLow;
      raisedBest = raised.slice();
      raisedConstant = sum(constants);
    }
  };
  /** How far what was found lies from the bound; false where it is near enough. */
  const isOpen = (): boolean => {
    const found = best!;
    bestCost = found.cost;
    gap = found.cost + found.schedule.unservedCost - bound;
    slack = Math.min(slack, (SLACK_OF_GAP * gap) / stretches.length);
    const lines = stretches.reduce((read, stretch) => read + stretch.lines, 0);
    return gap > (together && lines > MOST_LINES ? SETTLED_TOGETHER : SETTLED) * Math.max(1, Math.abs(found.cost));
  };
  const rough = ROUGH * Math.max(1, Math.abs(bestCost));
  const upper = stretches.every(({ caps }) => caps.length === 1)
    ? triedOut(problem, capped, stretches, rough)
    : undefined;
  if (upper !== undefined) follow(upper, rough);
  for (let sweep = 0; sweep < SWEEPS; sweep++) {
    // Backward: raise the bounds where the last schedule went.
    for (let s = stretches.length - 1; s >= 0; s--) {
      const stretch = stretches[s]!;
      const first = stretch.first === 0;
      if (sweep === 0 && upper === undefined) guessCaps(stretch, stretches[s + 1]);
      const at = first ? problem.initialKwh : schedule.socKwh[stretch.first - 1]!;
      for (const start of first || sweep > 0 ? [at] : around(upper?.[s], at)) {
        // Beside the schedule's own way only where bounds from above and below do not meet.
        const near = UPPER_SLACK * Math.max(1, Math.abs(bestCost));
        if (start !== at && costAt(upper![s]!, start) - costAt(curves[s]!, start) <= near) continue;
        weighLines(capped, stretch, settleCaps(capped, stretch, curves[s + 1], start, sweep > 0, slack));
        raise(s, start);
      }
    }
    // Forward: follow them.
    follow(curves, slack);
    if (!isOpen()) break;
  }
  return {
    schedule: best!.schedule,
    cost: best!.cost,
    bound,
    raisedPricePerKwh: raisedBest,
    raisedConstant,
    convex,
  };
}

/**
 * Costs to go at the start of each stretch, from above: what the caps of several starts make of it, so that the first
 * schedule already comes near the best.
 */
function triedOut(
  problem: StepProblem,
  capped: StepProblem,
  stretches: readonly Stretch[],
  tolerance: number,
): ValueCurve[] {
  const curves: ValueCurve[] = [];
  for (let s = stretches.length - 1; s >= 0; s--) {
    const stretch = stretches[s]!;
    guessCaps(stretch, stretches[s + 1]);
    if (s === 0) break;
    const low = problem.lowKwh[stretch.first - 1]!;
    const high = problem.highKwh[stretch.first - 1]!;
    for (const share of STARTS)
      settleCaps(capped, stretch, curves[s + 1], low + share * (high - low), share > 0, tolerance);
    const { priced } = stretch.caps[0]!;
    curves[s] = stretch.tried
      .map(({ kwh, start }) => ({ ...start, costAtLow: start.costAtLow + priced * kwh }))
      .reduce(lowerOf);
  }
  return curves;
}

/** A stored energy, and the nearest on both sides where the slope of a cost to go changes. */
function around(curve: ValueCurve | undefined, socKwh: number): number[] {
  if (curve === undefined) return [socKwh];
  let below = curve.lowKwh;
  let level = curve.lowKwh;
  for (let j = 0; j < curve.count; j++) {
    level += curve.widthKwh[j]!;
    if (level < socKwh - 1e-6) below = level;
    else if (level > socKwh + 1e-6) return socKwh - below > 1e-6 ? [socKwh, below, level] : [socKwh, level];
  }
  return [socKwh, below];
}

/** One schedule of the stretches' own. Values of a stored kWh are those of the stretch. */
function joinParts(problem: StepProblem, stretches: readonly Stretch[], parts: readonly Schedule[]): Schedule {
  const n = problem.intervals;
  const join = (pick: (part: Schedule) => Float64Array) => {
    const out = new Float64Array(n);
    for (const [s, part] of parts.entries()) out.set(pick(part), stretches[s]!.first);
    return out;
  };
  let cost = 0;
  let unservedCost = 0;
  for (const [s, part] of parts.entries()) {
    cost += part.cost - part.overCapCost;
    if (s < parts.length - 1) cost += finalWorth(problem, stretches[s]!.end - 1, part);
    unservedCost += part.unservedCost;
  }
  return {
    cost,
    chargeKwh: join((part) => part.chargeKwh),
    dischargeKwh: join((part) => part.dischargeKwh),
    socKwh: join((part) => part.socKwh),
    curtailedKwh: join((part) => part.curtailedKwh),
    unservedKwh: join((part) => part.unservedKwh),
    marginalValuePerKwh: join((part) => part.marginalValuePerKwh),
    unservedCost,
    overCapCost: 0,
  };
}

/** What a schedule took off its cost for energy left after interval `last`. */
export function finalWorth(problem: StepProblem, last: number, part: Schedule): number {
  return problem.finalValuePerKwh * Math.max(0, part.socKwh[part.socKwh.length - 1]! - problem.floorKwh[last]!);
}

/** Peak charges of a schedule, money. */
export function peakCost(problem: StepProblem, charges: readonly PeakPrice[], schedule: Schedule): number {
  let cost = 0;
  for (const charge of charges) cost += sum(peakCosts(problem, charge, schedule));
  return cost;
}

/** What each group of a peak charge comes to, money. */
export function peakCosts(problem: StepProblem, charge: PeakPrice, schedule: Schedule): Float64Array {
  const peaks = charge.leastKwh.slice();
  eachBlock({ first: 0, end: problem.intervals }, charge, (group, members) => {
    let sum = 0;
    for (const i of members) sum += importOf(problem, schedule, i);
    peaks[group] = Math.max(peaks[group]!, sum / charge.averagingSteps);
  });
  return peaks.map((kwh, g) => charge.pricePerKwh[g]! * kwh);
}

/** What passes the meter inward: surplus that is thrown away while import is paid leaves it to the meter, clipped energy never passes it. */
function importOf(problem: StepProblem, schedule: Schedule, i: number): number {
  const clipped = problem.clippedKwh === undefined ? 0 : problem.clippedKwh[i]!;
  const { chargeKwh, dischargeKwh, curtailedKwh, unservedKwh } = schedule;
  return Math.max(
    0,
    problem.netLoadKwh[i]! - clipped + curtailedKwh[i]! + chargeKwh[i]! - dischargeKwh[i]! - unservedKwh[i]!,
  );
}

/** Calls back for every averaging block and group with the block's intervals in the group, those of `[first, end)`. */
function eachBlock(
  { first, end }: Pick<Stretch, 'first' | 'end'>,
  charge: PeakPrice,
  visit: (group: number, members: readonly number[]) => void,
): void {
  const { group, averagingSteps, phaseSteps } = charge;
  if (averagingSteps === 1) {
    const single = [0];
    for (let i = first; i < end; i++) {
      if (group[i]! < 0) continue;
      single[0] = i;
      visit(group[i]!, single);
    }
    return;
  }
  const start = phaseSteps > 0 ? phaseSteps - averagingSteps : 0;
  const passed = Math.floor((first - start) / averagingSteps);
  for (let from = start + passed * averagingSteps; from < end; from += averagingSteps) {
    const members = new Map<number, number[]>();
    for (let i = Math.max(first, from); i < Math.min(end, from + averagingSteps); i++) {
      const g = group[i]!;
      if (g < 0) continue;
      const list = members.get(g);
      if (list === undefined) members.set(g, [i]);
      else list.push(i);
    }
    for (const [g, list] of members) visit(g, list);
  }
}

/** Charges on the same intervals, averaged alike, are one of the sum of their prices: delivery and supply bill one peak. */
function ofOnePeak(charges: readonly PeakPrice[]): readonly PeakPrice[] {
  const merged: PeakPrice[] = [];
  for (const charge of charges) {
    const at = merged.findIndex(
      (other) =>
        other.averagingSteps === charge.averagingSteps &&
        other.phaseSteps === charge.phaseSteps &&
        sameNumbers(other.leastKwh, charge.leastKwh) &&
        sameNumbers(other.group, charge.group),
    );
    if (at < 0) merged.push(charge);
    else {
      const { pricePerKwh } = merged[at]!;
      merged[at] = { ...charge, pricePerKwh: charge.pricePerKwh.map((price, g) => price + pricePerKwh[g]!) };
    }
  }
  return merged;
}

function sameNumbers(a: Int32Array | Float64Array, b: Int32Array | Float64Array): boolean {
  if (a === b) return true;
  if (a.length !== b.length) return false;
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}

/** Groups whose intervals interleave share a stretch. */
function layOut(problem: StepProblem, charges: readonly PeakPrice[], free: Schedule): Stretch[] {
  const spans: { first: number; end: number; cap: Cap }[] = [];
  for (const charge of charges) {
    const groups = charge.pricePerKwh.length;
    const first = new Int32Array(groups).fill(-1);
    const end = new Int32Array(groups);
    const peak = charge.leastKwh.slice();
    for (let i = 0; i < problem.intervals; i++) {
      const g = charge.group[i]!;
      if (g < 0) continue;
      if (first[g]! < 0) first[g] = i;
      end[g] = i + 1;
      peak[g] = Math.max(peak[g]!, importOf(problem, free, i));
    }
    for (let g = 0; g < groups; g++) {
      if (first[g]! < 0 || !(charge.pricePerKwh[g]! > 0)) continue;
      const none = new Float64Array(0);
      spans.push({
        first: first[g]!,
        end: end[g]!,
        cap: {
          charge,
          group: g,
          priced: charge.pricePerKwh[g]!,
          least: charge.leastKwh[g]!,
          peakKwh: peak[g]!,
          kwh: peak[g]!,
          lowShare: 0,
          lowMultipliers: none,
          highMultipliers: none,
        },
      });
    }
  }
  spans.sort((a, b) => a.first - b.first);
  const stretches: Stretch[] = [];
  let reach = 0;
  for (const span of spans) {
    const last = stretches[stretches.length - 1];
    if (last !== undefined && span.first < reach) {
      last.caps.push(span.cap);
    } else {
      const first = last === undefined ? 0 : span.first;
      if (last !== undefined) last.end = first;
      stretches.push(stretchOf(first, problem.intervals, [span.cap]));
    }
    reach = Math.max(reach, span.end);
  }
  if (stretches.length === 0) stretches.push(stretchOf(0, problem.intervals, []));
  return stretches;
}

function stretchOf(first: number, end: number, caps: Cap[]): Stretch {
  return { first, end, caps, after: undefined, tried: [], holder: new Int8Array(0), lines: 0, seeds: [] };
}

/** What a cap comes to: the stretch's cost, the charge included, and its slope there (either side's at a corner). */
interface Point {
  readonly kwh: number;
  readonly cost: number;
  readonly slope: number;
}

/** The lines that meet in a cap's corner: a point on each; the same one twice where the cost is at its least level. */
interface Corner {
  readonly kwh: number;
  readonly low: Point;
  readonly high: Point;
}

/** A first guess: the same share of the peak without caps as the next stretch came to. */
function guessCaps(stretch: Stretch, next: Stretch | undefined): void {
  for (const [c, cap] of stretch.caps.entries()) {
    const like = next?.caps[c];
    cap.kwh = Math.max(cap.least, cap.peakKwh * (like === undefined ? 0.6 : like.kwh / Math.max(like.peakKwh, 1e-9)));
  }
}

/** Finds each cap's corner, one after the other; what is found is kept for the same start and end. */
function settleCaps(
  capped: StepProblem,
  stretch: Stretch,
  after: ValueCurve | undefined,
  start: number,
  warm: boolean,
  tolerance = 0,
): Settled {
  const { caps, tried } = stretch;
  const last = stretch.settled;
  if (
    last !== undefined &&
    last.after === after &&
    last.tolerance <= tolerance &&
    Math.abs(last.start - start) <= 1e-12 * Math.max(1, start)
  )
    return last;
  const settled: Settled = { start, after, tolerance, corners: new Map() };
  stretch.settled = settled;
  if (caps.length > 1) {
    settleTogether(capped, stretch, settled);
    return settled;
  }
  if (stretch.after !== after) tried.length = 0;
  stretch.after = after;
  const options = { after, ...startBand(capped, stretch.first, start) };
  for (const cap of caps) {
    const pointOf = (one: Tried): Point => {
      const slope =
        cap.priced + (one.convex ? riseAt(one, start) : -sum(multipliersAt(capped, stretch, settled, cap, one.kwh)));
      return { kwh: one.kwh, cost: costAt(one.start, start) + cap.priced * one.kwh, slope };
    };
    const evaluate = (kwh: number): Point => {
      cap.kwh = kwh;
      setCaps(stretch, capped);
      const plan = planBackward(sliceOf(capped, stretch.first, stretch.end, start), {
        ...options,
        watchedCapKwh: kwh,
      });
      releasePlan(plan, capped.scratch);
      const one: Tried = { kwh, start: plan.start, rise: plan.rise!, convex: plan.convex };
      tried.push(one);
      return pointOf(one);
    };
    settled.corners.set(cap, findCorner(cap, tried.map(pointOf), evaluate, warm, tolerance));
  }
  setCaps(stretch, capped);
  return settled;
}

/**
 * Finds several caps of a stretch together: one by one they stop where none is worth lowering without the others. Each caps
 * tried give a line under the stretch's cost; where the lines are lowest is tried next. A mixture of them adds up to the prices
 * of the caps (Kelley's cutting planes and their dual, from memory).
 */
function settleTogether(capped: StepProblem, stretch: Stretch, settled: Settled): void {
  const { caps, first, end } = stretch;
  const program = new LeastCost(
    [1, ...caps.map(({ priced }) => priced)],
    [{ cost: BIG, row: [0], value: [1] }, ...caps.map(({ least }, k) => ({ cost: -least, row: [k + 1], value: [1] }))],
  );
  if (stretch.holder.length === 0) stretch.holder = new Int8Array(end - first);
  // No cap is higher than this: lowering one may make another's peak higher than it is with none.
  const highest = 2 * caps.reduce((most, { peakKwh }) => Math.max(most, peakKwh), 0);
  for (let k = 1; k <= caps.length; k++) program.add({ cost: highest, row: [k], value: [-1] });
  const lines: {
    readonly at: readonly number[];
    readonly column: number;
    readonly worth: Float64Array;
    readonly owner: Int8Array;
  }[] = [];
  const { seeds } = stretch;
  let best = caps.map(({ kwh }) => kwh);
  let bestCost = Number.POSITIVE_INFINITY;
  let weights: Float64Array = new Float64Array(0);
  const mostLines = LINES_BESIDE + LINES_A_CAP * caps.length;
  for (let round = 0; round < mostLines; round++) {
    setCaps(stretch, capped);
    const { worth, cost } = roomWorth(capped, stretch, settled);
    const owner = stretch.holder.slice();
    const sums = caps.map(() => 0);
    for (let i = 0; i < owner.length; i++)
      if (worth[i]! > 0 && owner[i]! >= 0) sums[owner[i]!] = sums[owner[i]!]! + worth[i]!;
    let total = cost;
    let atNothing = cost;
    for (const [k, { kwh, priced }] of caps.entries()) {
      total += priced * kwh;
      atNothing += sums[k]! * kwh;
    }
    const column = program.add({ cost: -atNothing, row: [0, ...caps.map((_, k) => k + 1)], value: [1, ...sums] });
    lines.push({ at: caps.map(({ kwh }) => kwh), column, worth, owner });
    if (total < bestCost) {
      bestCost = total;
      best = caps.map(({ kwh }) => kwh);
    }
    const solved = program.solve();
    weights = solved.weights;
    if (bestCost + solved.cost <= Math.max(settled.tolerance, TOGETHER * Math.max(1, Math.abs(bestCost)))) break;
    // A part of the way, the less the more caps there are: with few lines their lowest point jumps from end to end.
    const kept = Math.min(0.8, 0.4 + 0.02 * caps.length) * (1 - round / mostLines);
    for (const [k, cap] of caps.entries())
      cap.kwh = seeds[round]?.[k] ?? Math.max(cap.least, kept * best[k]! - (1 - kept) * solved.prices[k + 1]!);
  }
  stretch.lines += lines.length;
  stretch.seeds = lines.filter(({ column }) => weights[column]! > 0).map(({ at }) => at);
  for (const [k, cap] of caps.entries()) cap.kwh = best[k]!;
  setCaps(stretch, capped);
  settled.mixed = caps.map((_, k) => {
    const mixed = new Float64Array(end - first);
    for (const { column, worth, owner } of lines)
      if (weights[column]! > 0)
        for (let i = 0; i < mixed.length; i++) if (owner[i] === k) mixed[i] = mixed[i]! + weights[column]! * worth[i]!;
    return mixed;
  });
}

/** What a kWh more of the cap makes of the cost to go with `socKwh` stored. */
function riseAt({ start, rise }: Tried, socKwh: number): number {
  let left = socKwh - start.lowKwh;
  let cost = rise.costAtLow;
  let wider = 0;
  for (let j = 0; j < start.count && left > 0; j++) {
    if (left <= start.widthKwh[j]!) return cost + start.valuePerKwh[j]! * wider;
    cost -= start.valuePerKwh[j]! * rise.widthKwh[j]!;
    wider += rise.widthKwh[j]!;
    left -= start.widthKwh[j]!;
  }
  return cost;
}

/** The schedule at the corners. */
function scheduleOf(capped: StepProblem, stretch: Stretch, settled: Settled): Schedule {
  if (settled.schedule === undefined) {
    const problem = sliceOf(capped, stretch.first, stretch.end, settled.start);
    const plan = planBackward(problem, { after: settled.after });
    settled.schedule = followForward(problem, plan);
    releasePlan(plan, problem.scratch);
  }
  return settled.schedule;
}

/** What a kWh of room under one cap is worth in each step, with that cap at `kwh` and the others as they are. */
function multipliersAt(capped: StepProblem, stretch: Stretch, settled: Settled, cap: Cap, kwh: number): Float64Array {
  cap.kwh = kwh;
  setCaps(stretch, capped);
  return roomWorth(capped, stretch, settled).worth;
}

/** What a kWh of room under the caps as they stand is worth in each step, and the cost of the stretch. */
function roomWorth(
  capped: StepProblem,
  stretch: Stretch,
  { start, after }: Settled,
): { readonly worth: Float64Array; readonly cost: number } {
  const problem = sliceOf(capped, stretch.first, stretch.end, start);
  const n = problem.intervals;
  const bounds: ValueBounds = { atLeast: new Float64Array(n), atMost: new Float64Array(n) };
  const plan = planBackward(problem, { after });
  const schedule = followForward(problem, plan, bounds);
  releasePlan(plan, problem.scratch);
  const worth = new Float64Array(n);
  capMultipliers(problem, schedule, bounds, after, 0, worth);
  return { worth, cost: plan.bound };
}

/** Sets each cap's multipliers for the bound: of both lines that meet in its corner, from points well on them. */
function weighLines(capped: StepProblem, stretch: Stretch, settled: Settled): void {
  if (settled.weighed) return;
  settled.weighed = true;
  for (const [k, mixed] of settled.mixed?.entries() ?? []) {
    stretch.caps[k]!.lowShare = 1;
    stretch.caps[k]!.lowMultipliers = mixed;
    stretch.caps[k]!.highMultipliers = mixed;
  }
  for (const [cap, { kwh: corner, low, high }] of settled.corners) {
    for (const aside of ASIDE_KWH) {
      const below = corner - Math.min(aside, Math.max(0.5 * (corner - low.kwh), ASIDE_KWH[0]!));
      cap.lowMultipliers = multipliersAt(capped, stretch, settled, cap, Math.max(below, 0));
      if (sum(cap.lowMultipliers) >= cap.priced) break;
    }
    for (const aside of ASIDE_KWH) {
      const above = corner + Math.min(aside, Math.max(0.5 * (high.kwh - corner), ASIDE_KWH[0]!));
      cap.highMultipliers = multipliersAt(capped, stretch, settled, cap, above);
      if (sum(cap.highMultipliers) <= cap.priced) break;
    }
    const falling = cap.priced - sum(cap.lowMultipliers);
    const rising = cap.priced - sum(cap.highMultipliers);
    cap.lowShare = rising > falling ? Math.min(1, Math.max(0, rising / (rising - falling))) : 0;
    cap.kwh = corner;
  }
  setCaps(stretch, capped);
}

/** The cap of least cost, by supporting lines from both sides and their crossing. Leaves the cap there. */
function findCorner(
  cap: Cap,
  known: readonly Point[],
  evaluate: (kwh: number) => Point,
  warm: boolean,
  tolerance: number,
): Corner {
  let low: Point | undefined;
  let high: Point | undefined;
  const take = (point: Point) => {
    if (point.slope < 0) {
      if (low === undefined || point.kwh > low.kwh) low = point;
    } else if (high === undefined || point.kwh < high.kwh) high = point;
  };
  const finish = (at: Point): Corner => {
    cap.kwh = at.kwh;
    return { kwh: at.kwh, low: low ?? at, high: high ?? at };
  };
  for (const point of known) take(point);
  let step = warm ? 1e-4 : 0.15;
  for (let k = 0; k < ROUNDS; k++) {
    let next: number;
    /** What the lines say of the cost at `next`: reached, it is the corner. */
    let promised = Number.NEGATIVE_INFINITY;
    if (high !== undefined && (high.slope === 0 || high.kwh <= cap.least)) return finish(high);
    if (low !== undefined && high !== undefined) {
      const a: Point = low;
      const b: Point = high;
      next = (a.cost - b.cost + b.slope * b.kwh - a.slope * a.kwh) / (b.slope - a.slope);
      const near = 1e-13 * b.kwh;
      if (!(next > a.kwh + near && next < b.kwh - near)) return finish(a.cost < b.cost ? a : b);
      promised = a.cost + a.slope * (next - a.kwh) + Math.max(tolerance, 1e-13 * Math.abs(a.cost));
      if (Math.min(a.cost, b.cost) <= promised) return finish(a.cost < b.cost ? a : b);
    } else if (low !== undefined) {
      next = low.kwh + Math.max(step * low.kwh, 1e-5);
      step *= 4;
    } else if (high !== undefined) {
      next = Math.max(cap.least, high.kwh - Math.max(step * high.kwh, 1e-5));
      step *= 4;
    } else next = Math.max(cap.kwh, cap.least);
    const here = evaluate(next);
    if (here.cost <= promised) return finish(here);
    take(here);
  }
  return finish(low !== undefined && (high === undefined || low.cost < high.cost) ? low : high!);
}

/** Writes the stretch's caps, the lowest where several hold. */
function setCaps(stretch: Stretch, capped: StepProblem): void {
  const { first, end, caps, holder } = stretch;
  const importCapKwh = capped.importCapKwh!;
  const overCapPerKwh = capped.overCapPerKwh!;
  importCapKwh.fill(Number.POSITIVE_INFINITY, first, end);
  overCapPerKwh.fill(0, first, end);
  holder.fill(-1);
  for (const [k, { charge, group: own, kwh, priced }] of caps.entries()) {
    const { group } = charge;
    for (let i = first; i < end; i++) {
      if (group[i] !== own) continue;
      if (kwh < importCapKwh[i]!) {
        importCapKwh[i] = kwh;
        if (i - first < holder.length) holder[i - first] = k;
      }
      overCapPerKwh[i] = overCapPerKwh[i]! + 1.0001 * priced;
    }
  }
}

/** Raises a stretch's import prices by its caps' multipliers; returns the constant that goes with them. */
function raisePrices(problem: StepProblem, stretch: Stretch, raised: Float64Array): number {
  const { first, end } = stretch;
  raised.set(problem.importPricePerKwh.subarray(first, end), first);
  let constant = 0;
  for (const cap of stretch.caps) {
    const { charge, group, priced, least, lowShare, lowMultipliers, highMultipliers } = cap;
    const mixed = new Float64Array(end - first);
    let sum = 0;
    for (let i = first; i < end; i++) {
      if (charge.group[i] !== group) continue;
      const value = lowShare * lowMultipliers[i - first]! + (1 - lowShare) * highMultipliers[i - first]!;
      mixed[i - first] = value;
      sum += value;
    }
    // Multipliers may add up to the price and no more; what is left of it bears on the peak billed in any case.
    const scale = sum > priced ? priced / sum : 1;
    constant += (priced - scale * sum) * least;
    if (charge.averagingSteps === 1)
      for (let i = first; i < end; i++) raised[i] = raised[i]! + scale * mixed[i - first]!;
    // None of a cap's intervals lies outside its stretch.
    else
      eachBlock(stretch, charge, (g, members) => {
        if (g !== group) return;
        let block = 0;
        for (const i of members) block += mixed[i - first]!;
        for (const i of members) raised[i] = raised[i]! + (scale * block) / charge.averagingSteps;
      });
  }
  return constant;
}
