import { aimOfRun, DUST, type Schedule, settleValues } from './along-plan.ts';
import type { Plan, ValueCurve } from './backward.ts';
import { costToGo } from './curve.ts';
import { followPlain, isFollowedPlainly } from './forward-plain.ts';
import { type StepProblem, unservedPrice } from './problem.ts';
import {
  acPerStored,
  EXPORT,
  GRID_OVER_CAP,
  importIsPaid,
  makeShape,
  OVERLOAD,
  runStepWidths,
  SERVE_OVER_CAP,
  type StepShape,
  SURPLUS,
  shapeStep,
} from './shape.ts';

export type { Schedule };

/** Bounds on the value of a stored kWh that a step's decision leaves open, kept for the multipliers of caps. */
export interface ValueBounds {
  readonly atLeast: Float64Array;
  readonly atMost: Float64Array;
}

/** Follows a plan's levels from the start, and reads the value of a stored kWh off the decisions taken. */
export function followForward(problem: StepProblem, plan: Plan, bounds?: ValueBounds): Schedule {
  if (bounds === undefined && isFollowedPlainly(problem, plan)) return followPlain(problem, plan);
  return followStepwise(problem, plan, bounds);
}

/** The same for any problem, a step at a time: what {@link followPlain} is held to. */
export function followStepwise(problem: StepProblem, plan: Plan, bounds: ValueBounds | undefined): Schedule {
  const n = problem.intervals;
  const { netLoadKwh, importPricePerKwh, exportPricePerKwh, lowKwh, highKwh, floorKwh, decay, clippedKwh } = problem;
  const { importCapKwh, overCapPerKwh, importLimitKwh, exportLimitKwh, curtailment, wearPerKwh } = problem;
  const { kind, slope, width, level, counts } = plan;
  const chargeKwh = new Float64Array(n);
  const dischargeKwh = new Float64Array(n);
  const socKwh = new Float64Array(n);
  const curtailedKwh = new Float64Array(n);
  const unservedKwh = new Float64Array(n);
  const marginal = new Float64Array(n);
  const ac = acPerStored(problem);
  const shape = makeShape();
  let most = 0;
  for (let i = 0; i < n; i++) if (highKwh[i]! > most) most = highKwh[i]!;
  const dust = DUST * most;
  let at = plan.used;
  let cost = 0;
  let overCapCost = 0;
  let unservedCost = 0;
  let soc = problem.initialKwh;

  /** Stored kWh by kind: what a run stores, or what it leaves unused of what it could give. */
  const left = new Float64Array(EXPORT + 1);
  const ownWidth = new Float64Array(EXPORT + 1);
  const runSlope = new Float64Array(EXPORT + 1);
  let run = plan.runs;
  /** The run's last step, and what is stored after it. */
  let runEnd = -1;
  let runTarget = soc;

  for (let i = 0; i < n; i++) {
    let end: number;
    let charge = 0;
    let discharge = 0;
    /** The best of the ways, hold apart, to use one more kWh: charge less, or discharge more. */
    let other = Number.NEGATIVE_INFINITY;
    /** The step's own segments. */
    let from = at;
    let firstDischarge = at;
    let last = at;
    let slopes = slope;
    let widths = width;
    const floor = floorKwh[i]!;
    const held = soc > floor ? soc - decay * (soc - floor) : soc;
    if (i > runEnd) {
      const length = plan.lengths[--run]!;
      at -= counts[run]!;
      from = at;
      firstDischarge = at + plan.charges[run]!;
      if (length > 1) {
        runEnd = i + length - 1;
        runTarget = aimOfRun(plan, at, firstDischarge, last, held, dust, left);
        for (let k = at; k < last; k++) runSlope[kind[k]!] = slope[k]!;
      }
    }
    if (i <= runEnd) {
      // Its share of the run: store as early, give as late as may be.
      runStepWidths(problem, i, ownWidth);
      from = 0;
      firstDischarge = OVERLOAD;
      last = EXPORT + 1;
      slopes = runSlope;
      widths = ownWidth;
      end = held;
      if (runTarget > soc)
        for (let k = SURPLUS; k >= GRID_OVER_CAP; k--) {
          const open = left[k]!;
          const take = open < ownWidth[k]! ? open : ownWidth[k]!;
          left[k] = open - take;
          if (take <= dust) continue;
          other = runSlope[k]!;
          end += take;
          charge += take * ac[k]!;
        }
      if (charge === 0)
        for (let k = SERVE_OVER_CAP; k <= EXPORT; k++) {
          const wide = ownWidth[k]!;
          const open = left[k]!;
          const idle = open < wide ? open : wide;
          left[k] = open - idle;
          if (idle > dust && other === Number.NEGATIVE_INFINITY) other = runSlope[k]!;
          if (wide - idle <= dust) continue;
          end -= wide - idle;
          discharge += (wide - idle) * ac[k]!;
        }
      if (i === runEnd) end = runTarget;
    } else {
      const curve = plan.convex ? undefined : plan.kept.get(i);
      end = held;
      if (curve === undefined) {
        let k = firstDischarge - 1;
        for (; k >= at; k--) {
          const room = level[k]! - end;
          if (room <= dust) break;
          other = slope[k]!;
          if (room <= width[k]!) {
            end = level[k]!;
            charge += room * ac[kind[k]!]!;
            break;
          }
          end += width[k]!;
          charge += width[k]! * ac[kind[k]!]!;
        }
        if (charge === 0) {
          for (k = firstDischarge; k < last; k++) {
            const drop = end - level[k]!;
            if (drop < width[k]! - dust) {
              other = slope[k]!;
              if (drop > dust) {
                end = level[k]!;
                discharge += drop * ac[kind[k]!]!;
              }
              break;
            }
            end -= width[k]!;
            discharge += width[k]! * ac[kind[k]!]!;
          }
        }
      } else {
        shapeStep(problem, i, shape);
        other = marginalOnHull(plan, at, last, held + shape.chargeWidth, highKwh[i]!, curve, dust);
        const moved = bestMove(shape, curve, held, lowKwh[i]!, highKwh[i]!);
        end = held + moved;
        let open = Math.abs(moved);
        if (moved > 0)
          for (let k = shape.charges - 1; k >= 0 && open > 0; k--) {
            const take = Math.min(open, shape.width[k]!);
            charge += take * ac[shape.kind[k]!]!;
            open -= take;
          }
        else
          for (let k = shape.charges; k < shape.count && open > 0; k++) {
            const take = Math.min(open, shape.width[k]!);
            discharge += take * ac[shape.kind[k]!]!;
            open -= take;
          }
      }
    }
    marginal[i] = other;
    if (bounds !== undefined) boundValue(slopes, widths, from, firstDischarge, last, end - held, 100 * dust, i, bounds);
    if (end > highKwh[i]!) end = highKwh[i]!;
    else if (end < lowKwh[i]!) end = lowKwh[i]!;

    // The meter.
    const net = netLoadKwh[i]!;
    const importPrice = importPricePerKwh[i]!;
    const exportPrice = exportPricePerKwh[i]!;
    let thrown = 0;
    let stored = charge;
    let flow: number;
    if (curtailment && importIsPaid(problem, i)) {
      const bought = Math.min(charge, importLimitKwh);
      thrown = (clippedKwh === undefined ? 0 : clippedKwh[i]!) - net - (charge - bought);
      flow = bought - discharge;
    } else {
      if (clippedKwh !== undefined) {
        const fromClipped = Math.min(charge, clippedKwh[i]!);
        thrown = clippedKwh[i]! - fromClipped;
        stored -= fromClipped;
      }
      flow = net + stored - discharge;
      if (curtailment && exportPrice < 0 && flow < 0 && net < 0) {
        const unwanted = Math.min(-net, -flow);
        thrown += unwanted;
        flow += unwanted;
      }
    }
    if (flow < -exportLimitKwh) {
      thrown += -flow - exportLimitKwh;
      flow = -exportLimitKwh;
    } else if (flow > importLimitKwh) {
      const missing = flow - importLimitKwh;
      unservedKwh[i] = missing;
      unservedCost += missing * unservedPrice(problem, i);
      flow = importLimitKwh;
    }
    if (thrown > 0) curtailedKwh[i] = thrown;
    cost += (flow > 0 ? importPrice : exportPrice) * flow + wearPerKwh * discharge;
    if (importCapKwh !== undefined && flow > importCapKwh[i]!)
      overCapCost += overCapPerKwh![i]! * (flow - importCapKwh[i]!);
    if (charge > 0) chargeKwh[i] = charge;
    else if (discharge > 0) dischargeKwh[i] = discharge;
    socKwh[i] = end;
    soc = end;
  }
  cost += overCapCost;
  cost -= settleValues(problem, plan, socKwh, marginal, dust);
  return {
    cost,
    chargeKwh,
    dischargeKwh,
    socKwh,
    curtailedKwh,
    unservedKwh,
    marginalValuePerKwh: marginal,
    unservedCost,
    overCapCost,
  };
}

/** The slopes on either side of a move: what a stored kWh is worth lies between them. Slivers don't count. */
function boundValue(
  slope: Float64Array,
  width: Float64Array,
  at: number,
  firstDischarge: number,
  last: number,
  moved: number,
  sliver: number,
  i: number,
  bounds: ValueBounds,
): void {
  let atMost = Number.POSITIVE_INFINITY;
  let atLeast = Number.NEGATIVE_INFINITY;
  let left = moved;
  // From idle toward charging; what lies behind bounds from below, what lies ahead from above.
  for (let k = firstDischarge - 1; k >= at; k--) {
    if (width[k]! <= sliver) continue;
    if (left <= sliver) {
      atMost = slope[k]!;
      break;
    }
    atLeast = slope[k]!;
    if (left < width[k]! - sliver) {
      atMost = atLeast;
      break;
    }
    left -= width[k]!;
  }
  left = -moved;
  for (let k = firstDischarge; k < last && moved <= sliver; k++) {
    if (width[k]! <= sliver) continue;
    if (left <= sliver) {
      atLeast = slope[k]!;
      break;
    }
    atMost = slope[k]!;
    if (left < width[k]! - sliver) {
      atLeast = atMost;
      break;
    }
    left -= width[k]!;
  }
  bounds.atLeast[i] = atLeast;
  bounds.atMost[i] = atMost;
}

/** Energy that goes in (or, negative, out) at least cost now and to come, where the step's cost isn't convex. */
function bestMove(shape: StepShape, curve: ValueCurve, held: number, low: number, high: number): number {
  const least = low - held;
  const most = high - held;
  let best = Math.min(most, Math.max(least, 0));
  let bestCost = moveCost(shape, best) + costToGo(curve, held + best);
  let near = 0;
  const consider = (from: number, to: number, slope: number) => {
    const a = Math.max(least, Math.min(from, to));
    const b = Math.min(most, Math.max(from, to));
    if (a > b) return;
    const inner = Math.min(b, Math.max(a, levelAt(curve, slope) - held));
    for (const move of [inner, a, b]) {
      const cost = moveCost(shape, move) + costToGo(curve, held + move);
      if (cost < bestCost || (cost === bestCost && move > best)) {
        best = move;
        bestCost = cost;
      }
    }
  };
  for (let k = shape.charges - 1; k >= 0; k--) {
    consider(near, near + shape.width[k]!, shape.slope[k]!);
    near += shape.width[k]!;
  }
  near = 0;
  for (let k = shape.charges; k < shape.count; k++) {
    consider(near, near - shape.width[k]!, shape.slope[k]!);
    near -= shape.width[k]!;
  }
  return best;
}

/** Cost of moving so much, above that of leaving the battery alone. */
function moveCost(shape: StepShape, move: number): number {
  let cost = 0;
  let left = Math.abs(move);
  if (move > 0)
    for (let k = shape.charges - 1; k >= 0 && left > 0; k--) {
      const take = Math.min(left, shape.width[k]!);
      cost += take * shape.slope[k]!;
      left -= take;
    }
  else
    for (let k = shape.charges; k < shape.count && left > 0; k++) {
      const take = Math.min(left, shape.width[k]!);
      cost -= take * shape.slope[k]!;
      left -= take;
    }
  return cost;
}

/** Stored energy up to which a kWh is worth at least `price`. */
function levelAt(curve: ValueCurve, price: number): number {
  let level = curve.lowKwh;
  for (let j = 0; j < curve.count && curve.valuePerKwh[j]! >= price; j++) level += curve.widthKwh[j]!;
  return level;
}

/** Slope, to the right, of the hull merged with the value after the step; `far` is stored with all charging used. */
function marginalOnHull(
  plan: Plan,
  at: number,
  last: number,
  far: number,
  high: number,
  curve: ValueCurve,
  dust: number,
): number {
  const { slope, width, level } = plan;
  let other = Number.NEGATIVE_INFINITY;
  let end = far;
  for (let k = at; k < last; k++) {
    const drop = end - level[k]!;
    if (drop < width[k]! - dust) {
      other = slope[k]!;
      if (drop > 0) end -= drop;
      break;
    }
    end -= width[k]!;
  }
  if (high - end <= dust) return other;
  let upTo = curve.lowKwh;
  for (let j = 0; j < curve.count; j++) {
    upTo += curve.widthKwh[j]!;
    if (upTo > end + dust) return Math.max(other, curve.valuePerKwh[j]!);
  }
  return other;
}
