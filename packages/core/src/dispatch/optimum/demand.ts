import { planBackward, releasePlan, type ValueCurve } from './backward.ts';
import { higherOf } from './curve.ts';
import { followForward, type Schedule, type ValueBounds } from './forward.ts';
import { capMultipliers } from './multipliers.ts';
import type { StepProblem } from './problem.ts';

/** A price on the highest mean import of each group of intervals. */
export interface PeakCharge {
  /** Group of each interval, −1 none. */
  readonly group: Int32Array;
  /** Money a kWh of the highest block's mean energy an interval: price a kW ÷ hours of an interval. */
  readonly pricePerKwh: Float64Array;
  /** Billed at least, kWh an interval. */
  readonly leastKwh: Float64Array;
  /** Intervals that are averaged, and the first interval of the first whole block. */
  readonly averagingSteps: number;
  readonly phaseSteps: number;
}

/** A schedule under peak charges, its whole cost, and a proven lower bound on the cost of any. */
export interface PeakSolution {
  readonly schedule: Schedule;
  /** Energy, wear and peaks; unserved load apart. */
  readonly cost: number;
  /** Of the same, unserved load at its penalty included. */
  readonly bound: number;
  /** Caps that led to the schedule, kWh an interval. */
  readonly capKwh: Float64Array;
  /** Import prices with the bound's multipliers added. */
  readonly raisedPricePerKwh: Float64Array;
  readonly convex: boolean;
}

/** One group's cap, and the multipliers of the two lines that hold its cost up there. */
interface Cap {
  readonly charge: PeakCharge;
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
  /** What was last settled, and from which start and end. */
  settled?: { readonly start: number; readonly after: ValueCurve | undefined; readonly schedule: Schedule };
}

const ROUNDS = 40;
const SWEEPS = 12;
/** A gap of less than this share of the cost is left alone. */
const SETTLED = 1e-10;

/**
 * The best schedule under peak charges. For a given cap the problem keeps its form (import above it at a penalty);
 * its cost is convex and piecewise linear in the cap, so supporting lines and their crossing find the corner in a
 * few evaluations of that stretch alone. The lines' multipliers, mixed so that they add up to the price, raise the
 * import prices of an ordinary problem, whose value function lies under the true one everywhere and touches it at the
 * energy that it was made for. Stretches are tied by these functions: backward they are raised, forward they are
 * followed, until the schedule costs what they promise.
 */
export function solvePeaks(problem: StepProblem, charges: readonly PeakCharge[]): PeakSolution {
  const n = problem.intervals;
  const free = planBackward(problem);
  let schedule = followForward(problem, free);
  releasePlan(free);
  const stretches = layOut(problem, charges, schedule);
  const capped: StepProblem = {
    ...problem,
    importCapKwh: new Float64Array(n).fill(Number.POSITIVE_INFINITY),
    overCapPerKwh: new Float64Array(n),
  };
  const raised = problem.importPricePerKwh.slice();
  const relaxed: StepProblem = { ...problem, importPricePerKwh: raised };
  /** Lower bound of the cost to go at the start of each stretch. */
  const curves: (ValueCurve | undefined)[] = stretches.map(() => undefined);
  let best: { schedule: Schedule; cost: number; caps: Float64Array } | undefined;
  let bound = Number.NEGATIVE_INFINITY;
  let raisedBest: Float64Array = problem.importPricePerKwh;
  let convex = true;
  let bestCost = schedule.cost;

  for (let sweep = 0; sweep < SWEEPS; sweep++) {
    // Backward: raise the bounds where the last schedule went.
    for (let s = stretches.length - 1; s >= 0; s--) {
      const stretch = stretches[s]!;
      const start = stretch.first > 0 ? schedule.socKwh[stretch.first - 1]! : problem.initialKwh;
      if (sweep === 0) guessCaps(stretch, stretches[s + 1]);
      settleCaps(capped, stretch, curves[s + 1], start, sweep > 0);
      const constant = raisePrices(problem, stretch, raised);
      const slice = sliceOf(relaxed, stretch.first, stretch.end, start);
      const first = stretch.first === 0;
      const plan = planBackward(slice, {
        after: curves[s + 1],
        fromLowKwh: first ? start : problem.lowKwh[stretch.first - 1]!,
        fromHighKwh: first ? start : problem.highKwh[stretch.first - 1]!,
      });
      releasePlan(plan);
      convex &&= plan.convex;
      const curve = { ...plan.start, costAtLow: plan.start.costAtLow + constant };
      if (first) {
        if (curve.costAtLow > bound) {
          bound = curve.costAtLow;
          raisedBest = raised.slice();
        }
      } else {
        const before = curves[s];
        curves[s] =
          before === undefined ? curve : higherOf(before, curve, 0.1 * SETTLED * Math.max(1, Math.abs(bestCost)));
      }
    }
    // Forward: follow them.
    let start = problem.initialKwh;
    const parts: Schedule[] = [];
    for (let s = 0; s < stretches.length; s++) {
      const stretch = stretches[s]!;
      const part = settleCaps(capped, stretch, curves[s + 1], start, true);
      parts.push(part);
      start = part.socKwh[part.socKwh.length - 1]!;
    }
    schedule = joinParts(problem, stretches, parts);
    const cost = schedule.cost + peakCost(problem, charges, schedule);
    if (best === undefined || cost + schedule.unservedCost < best.cost + best.schedule.unservedCost)
      best = { schedule, cost, caps: capped.importCapKwh!.slice() };
    bestCost = best.cost;
    const gap = best.cost + best.schedule.unservedCost - bound;
    if (gap <= SETTLED * Math.max(1, Math.abs(best.cost))) break;
  }
  return {
    schedule: best!.schedule,
    cost: best!.cost,
    bound,
    capKwh: best!.caps,
    raisedPricePerKwh: raisedBest,
    convex,
  };
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

/** What a stretch took off its cost for energy left: nothing of the kind is due before the last one's end. */
function finalWorth(problem: StepProblem, last: number, part: Schedule): number {
  return problem.finalValuePerKwh * Math.max(0, part.socKwh[part.socKwh.length - 1]! - problem.floorKwh[last]!);
}

/** Peak charges of a schedule, money. */
function peakCost(problem: StepProblem, charges: readonly PeakCharge[], schedule: Schedule): number {
  let cost = 0;
  for (const charge of charges) {
    const peaks = charge.leastKwh.slice();
    eachBlock(problem, charge, (group, members) => {
      let sum = 0;
      for (const i of members) sum += importOf(problem, schedule, i);
      peaks[group] = Math.max(peaks[group]!, sum / charge.averagingSteps);
    });
    for (let g = 0; g < peaks.length; g++) cost += charge.pricePerKwh[g]! * peaks[g]!;
  }
  return cost;
}

function importOf(problem: StepProblem, schedule: Schedule, i: number): number {
  return Math.max(
    0,
    problem.netLoadKwh[i]! + schedule.chargeKwh[i]! - schedule.dischargeKwh[i]! - schedule.unservedKwh[i]!,
  );
}

/** Calls back for every averaging block and group with the block's intervals in the group. */
function eachBlock(
  problem: StepProblem,
  charge: PeakCharge,
  visit: (group: number, members: readonly number[]) => void,
): void {
  const { group, averagingSteps, phaseSteps } = charge;
  const n = problem.intervals;
  if (averagingSteps === 1) {
    const single = [0];
    for (let i = 0; i < n; i++) {
      if (group[i]! < 0) continue;
      single[0] = i;
      visit(group[i]!, single);
    }
    return;
  }
  for (let from = phaseSteps > 0 ? phaseSteps - averagingSteps : 0; from < n; from += averagingSteps) {
    const members = new Map<number, number[]>();
    for (let i = Math.max(0, from); i < Math.min(n, from + averagingSteps); i++) {
      const g = group[i]!;
      if (g < 0) continue;
      const list = members.get(g);
      if (list === undefined) members.set(g, [i]);
      else list.push(i);
    }
    for (const [g, list] of members) visit(g, list);
  }
}

/** Groups whose intervals interleave share a stretch. */
function layOut(problem: StepProblem, charges: readonly PeakCharge[], free: Schedule): Stretch[] {
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
      stretches.push({ first, end: problem.intervals, caps: [span.cap] });
    }
    reach = Math.max(reach, span.end);
  }
  if (stretches.length === 0) stretches.push({ first: 0, end: problem.intervals, caps: [] });
  return stretches;
}

/** A stretch of a problem as a problem of its own. */
function sliceOf(problem: StepProblem, first: number, end: number, initialKwh: number): StepProblem {
  const cut = (array: Float64Array) => array.subarray(first, end);
  const maybe = (array: Float64Array | undefined) => (array === undefined ? undefined : cut(array));
  return {
    ...problem,
    intervals: end - first,
    stepsToEnd: problem.stepsToEnd - first,
    netLoadKwh: cut(problem.netLoadKwh),
    importPricePerKwh: cut(problem.importPricePerKwh),
    exportPricePerKwh: cut(problem.exportPricePerKwh),
    chargeLimitKwh: cut(problem.chargeLimitKwh),
    dischargeLimitKwh: cut(problem.dischargeLimitKwh),
    lowKwh: cut(problem.lowKwh),
    highKwh: cut(problem.highKwh),
    floorKwh: cut(problem.floorKwh),
    clippedKwh: maybe(problem.clippedKwh),
    servedLoadLimitKwh: maybe(problem.servedLoadLimitKwh),
    importCapKwh: maybe(problem.importCapKwh),
    overCapPerKwh: maybe(problem.overCapPerKwh),
    initialKwh,
  };
}

/** What a cap comes to: the stretch's cost, the charge included, and the slopes that its multipliers may have. */
interface Point {
  readonly kwh: number;
  readonly cost: number;
  readonly schedule: Schedule;
  /** Lowest and highest slope found, and their multipliers. */
  readonly falling: number;
  readonly rising: number;
  readonly fallingMultipliers: Float64Array;
  readonly risingMultipliers: Float64Array;
}

/** A first guess: the same share of the peak without caps as the next stretch came to. */
function guessCaps(stretch: Stretch, next: Stretch | undefined): void {
  for (const [c, cap] of stretch.caps.entries()) {
    const like = next?.caps[c];
    cap.kwh = Math.max(cap.least, cap.peakKwh * (like === undefined ? 0.6 : like.kwh / Math.max(like.peakKwh, 1e-9)));
  }
}

/** Finds each cap's corner, one after the other, and the schedule there. */
function settleCaps(
  capped: StepProblem,
  stretch: Stretch,
  after: ValueCurve | undefined,
  start: number,
  warm: boolean,
): Schedule {
  const { first, end, caps } = stretch;
  const last = stretch.settled;
  if (last !== undefined && last.after === after && Math.abs(last.start - start) <= 1e-12 * Math.max(1, start))
    return last.schedule;
  const problem = sliceOf(capped, first, end, start);
  const n = end - first;
  const bounds: ValueBounds = { atLeast: new Float64Array(n), atMost: new Float64Array(n) };
  const kept: ValueBounds = { atLeast: new Float64Array(n), atMost: new Float64Array(n) };
  let settled: Schedule | undefined;

  const evaluate = (cap: Cap | undefined, kwh: number, both: boolean): Point => {
    if (cap !== undefined) cap.kwh = kwh;
    setCaps(stretch, capped);
    const plan = planBackward(problem, { after });
    const schedule = followForward(problem, plan, bounds);
    releasePlan(plan);
    const measure = (prefer: 0 | 1) => {
      const multipliers = new Float64Array(n);
      if (cap === undefined) return { slope: 0, multipliers };
      kept.atLeast.set(bounds.atLeast);
      kept.atMost.set(bounds.atMost);
      capMultipliers(problem, schedule, kept, after, prefer, multipliers);
      let slope = cap.priced;
      const { group } = cap.charge;
      for (let i = 0; i < n; i++)
        if (group[first + i] === cap.group && problem.importCapKwh![i] === kwh) slope -= multipliers[i]!;
        else multipliers[i] = 0;
      return { slope, multipliers };
    };
    const a = measure(0);
    const b = both ? measure(1) : a;
    const [falling, rising] = a.slope < b.slope ? [a, b] : [b, a];
    return {
      kwh,
      cost: plan.bound + (cap === undefined ? 0 : cap.priced * kwh),
      schedule,
      falling: falling.slope,
      rising: rising.slope,
      fallingMultipliers: falling.multipliers,
      risingMultipliers: rising.multipliers,
    };
  };
  const rounds = caps.length > 1 ? 4 : 1;
  for (let round = 0; round < rounds; round++)
    for (const cap of caps) settled = findCorner(cap, (kwh, both) => evaluate(cap, kwh, both), warm || round > 0);
  if (caps.length !== 1 || settled === undefined) settled = evaluate(undefined, 0, false).schedule;
  stretch.settled = { start, after, schedule: settled };
  return settled;
}

/** The cap of least cost, by supporting lines from both sides and their crossing. */
function findCorner(cap: Cap, evaluate: (kwh: number, both: boolean) => Point, warm: boolean): Schedule {
  const finish = (low: Point, high: Point, at: Point): Schedule => {
    cap.kwh = at.kwh;
    const [a, b] = low === high ? [low.falling, low.rising] : [low.rising, high.falling];
    cap.lowShare = b > a ? Math.min(1, Math.max(0, b / (b - a))) : 0;
    cap.lowMultipliers = low === high ? low.fallingMultipliers : low.risingMultipliers;
    cap.highMultipliers = low === high ? high.risingMultipliers : high.fallingMultipliers;
    return at.schedule;
  };
  let low: Point | undefined;
  let high: Point | undefined;
  let next = Math.max(cap.kwh, cap.least);
  let step = warm ? 0.02 : 0.15;
  /** What the lines say of the cost at `next`: reached, it is the corner. */
  let promised = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < ROUNDS; k++) {
    const here = evaluate(next, warm && k === 0);
    const rounding = 1e-13 * Math.max(1, Math.abs(here.cost));
    if (low !== undefined && high !== undefined && here.cost <= promised + rounding) return finish(low, high, here);
    // At a corner of several, values of stored energy may not fit one another: convexity shows, and a step aside helps.
    const astray =
      (low !== undefined && here.cost + here.rising * (low.kwh - here.kwh) > low.cost + 1e3 * rounding) ||
      (high !== undefined && here.cost + here.falling * (high.kwh - here.kwh) > high.cost + 1e3 * rounding);
    if (astray && low !== undefined && high !== undefined) {
      next = here.kwh + 1e-3 * (0.5 * (low.kwh + high.kwh) - here.kwh) + 1e-7 * (high.kwh - low.kwh);
      promised = Number.NEGATIVE_INFINITY;
      continue;
    }
    if (here.falling <= 0 && here.rising >= 0) return finish(here, here, here);
    if (here.rising < 0) low = here;
    else {
      high = here;
      if (here.kwh <= cap.least) return finish(here, here, here);
    }
    if (low !== undefined && high !== undefined) {
      const crossing =
        (low.cost - high.cost + high.falling * high.kwh - low.rising * low.kwh) / (high.falling - low.rising);
      if (!(crossing > low.kwh && crossing < high.kwh)) return finish(low, high, low.cost < high.cost ? low : high);
      promised = low.cost + low.rising * (crossing - low.kwh);
      next = crossing;
    } else if (low !== undefined) {
      next = low.kwh + Math.max(step * low.kwh, 1e-3);
      step *= 4;
    } else {
      next = Math.max(cap.least, high!.kwh - Math.max(step * high!.kwh, 1e-3));
      step *= 4;
    }
  }
  const at = low !== undefined && (high === undefined || low.cost < high.cost) ? low : high!;
  return finish(low ?? at, high ?? at, at);
}

/** Writes the stretch's caps, the lowest where several hold. */
function setCaps(stretch: Stretch, capped: StepProblem): void {
  const importCapKwh = capped.importCapKwh!;
  const overCapPerKwh = capped.overCapPerKwh!;
  importCapKwh.fill(Number.POSITIVE_INFINITY, stretch.first, stretch.end);
  overCapPerKwh.fill(0, stretch.first, stretch.end);
  for (const cap of stretch.caps) {
    const { group } = cap.charge;
    for (let i = stretch.first; i < stretch.end; i++) {
      if (group[i] !== cap.group) continue;
      if (cap.kwh < importCapKwh[i]!) importCapKwh[i] = cap.kwh;
      overCapPerKwh[i] = Math.max(overCapPerKwh[i]!, 1.0001 * cap.priced);
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
    else
      eachBlock(problem, charge, (g, members) => {
        if (g !== group) return;
        let block = 0;
        for (const i of members) block += mixed[i - first]!;
        for (const i of members) raised[i] = raised[i]! + (scale * block) / charge.averagingSteps;
      });
  }
  return constant;
}
