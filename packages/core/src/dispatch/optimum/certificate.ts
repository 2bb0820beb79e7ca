import { check, number, record, series } from '../../input/door.ts';
import { energies } from '../../plant/inside.ts';
import { checkProblem, type DispatchProblem, type DispatchSolution, type StepProblem, toSteps } from './problem.ts';
import { leftOf, makeReachable } from './reachable.ts';
import { convexHull, makeShape, type StepShape, shapeStep } from './shape.ts';

/** What prices of stored energy prove about a stated bound. */
export interface BoundCheck {
  /** No schedule costs less; load left unserved counts at more than any kWh costs. */
  readonly provenCost: number;
  /** The stated bound is no more than that, but for rounding. */
  readonly holds: boolean;
}

/**
 * Whether no schedule of a problem can cost less than `statedCost`, by prices of stored energy. Whatever they are, each step
 * alone may buy and sell at them what goes into its store and out of it, and so may each moment that something is held: what
 * that costs at the least, added up, is below the cost of every schedule, since all that is bought is sold. The best prices
 * ({@link storedPrices} of the best schedule) come up to the optimum where its steps are convex; wrong ones prove less, never
 * too much. Knows what one step can do and what that costs, and nothing of how the schedule was found. On prices alone: demand
 * charges and terms of a bill are left out.
 *
 * @param statedCost money
 * @param valuePerKwh price of a kWh stored at the end of each interval
 * @throws InputError on a problem that `optimalDispatch` refuses, or prices of another length
 */
export function checkBound(problem: DispatchProblem, statedCost: number, valuePerKwh: Float64Array): BoundCheck {
  checkProblem(problem);
  const { length } = problem.netLoadKwh;
  check({ statedCost, valuePerKwh }, { statedCost: number(), valuePerKwh: series() }, length);
  const steps = toSteps(problem);
  makeReachable(steps);
  const { lowKwh, highKwh, floorKwh, decay, initialKwh, finalValuePerKwh } = steps;
  const shape = makeShape();
  const hull = makeShape();
  let provenCost = length > 0 ? -valuePerKwh[0]! * leftOf(initialKwh, floorKwh[0]!, decay) : 0;
  for (let i = 0; i < length; i++) {
    const price = valuePerKwh[i]!;
    // The step buys its load and sells to the store: its cost is straight between the ends of its segments.
    const { farCost, chargeWidth, count, slope, width } = convexShape(steps, i, shape, hull);
    let cost = farCost - price * chargeWidth;
    let least = cost;
    for (let k = 0; k < count; k++) {
      cost -= (slope[k]! - price) * width[k]!;
      if (cost < least) least = cost;
    }
    // The store buys at this step's price what it sells at the next one's, less decay: straight but for the floor.
    const floor = floorKwh[Math.min(i + 1, length - 1)]!;
    const heldCost = (kwh: number) =>
      price * kwh -
      (i + 1 < length ? valuePerKwh[i + 1]! * leftOf(kwh, floor, decay) : finalValuePerKwh * Math.max(0, kwh - floor));
    const low = lowKwh[i]!;
    const high = highKwh[i]!;
    provenCost += least + Math.min(heldCost(low), heldCost(high), heldCost(Math.min(high, Math.max(low, floor))));
  }
  return { provenCost, holds: statedCost <= provenCost + 1e-9 * Math.max(1, Math.abs(provenCost)) };
}

/**
 * Prices of stored energy that go with a schedule, at the end of each interval: what {@link checkBound} asks for. A step that
 * does one thing in part names the price; one that does nothing, or all it can, bounds it. It stays the same from step to step
 * but for decay, save where the store is full, where it may rise, or at the low end of its band, where it may fall.
 *
 * @param solution what `optimalDispatch` gave for the problem; other schedules get prices that prove less
 * @throws InputError on a problem that `optimalDispatch` refuses, or a schedule of another length
 */
export function storedPrices(problem: DispatchProblem, solution: Pick<DispatchSolution, 'socKwh'>): Float64Array {
  checkProblem(problem);
  const n = problem.netLoadKwh.length;
  check({ solution }, { solution: record({ socKwh: energies }) }, n);
  const { socKwh } = solution;
  const steps = toSteps(problem);
  makeReachable(steps);
  const { lowKwh, highKwh, floorKwh, decay, initialKwh, finalValuePerKwh } = steps;
  const atLeast = new Float64Array(n);
  const atMost = new Float64Array(n);
  const shape = makeShape();
  const hull = makeShape();
  const dust =
    1e-9 *
    Math.max(
      1,
      highKwh.reduce((most, kwh) => Math.max(most, kwh), 0),
    );
  const keeps = (i: number) => ((i > 0 ? socKwh[i - 1]! : initialKwh) > floorKwh[i]! ? 1 - decay : 1);
  let low = Number.NEGATIVE_INFINITY;
  let high = Number.POSITIVE_INFINITY;
  for (let i = n - 1; i >= 0; i--) {
    const end = socKwh[i]!;
    if (i === n - 1) low = high = highKwh[i]! > floorKwh[i]! ? finalValuePerKwh : 0;
    if (end >= highKwh[i]! - dust) low = Number.NEGATIVE_INFINITY;
    if (end <= lowKwh[i]! + dust) high = Number.POSITIVE_INFINITY;
    const { count, slope, width, chargeWidth } = convexShape(steps, i, shape, hull);
    // How far the step is from charging all it can; what it could still take in, or give, bounds the price.
    let far = chargeWidth - (end - leftOf(i > 0 ? socKwh[i - 1]! : initialKwh, floorKwh[i]!, decay));
    let least = Number.NEGATIVE_INFINITY;
    let most = Number.POSITIVE_INFINITY;
    for (let k = 0; k < count; k++) {
      if (width[k]! <= dust) {
        far -= width[k]!;
        continue;
      }
      if (far > dust) most = slope[k]!;
      if (far < width[k]! - dust) {
        least = slope[k]!;
        break;
      }
      far -= width[k]!;
    }
    low = Math.max(low, least);
    high = Math.min(high, most);
    if (low > high) low = high = Math.min(Math.max(0.5 * (low + high), least), most);
    atLeast[i] = low;
    atMost[i] = high;
    low *= keeps(i);
    high *= keeps(i);
  }
  // One path through them.
  let price = 0;
  for (let i = 0; i < n; i++) {
    price = Math.min(Math.max(i > 0 ? price / keeps(i) : 0, atLeast[i]!), atMost[i]!);
    atLeast[i] = price;
  }
  return atLeast;
}

/** The cost of step `i`, or a convex one under it. */
function convexShape(steps: StepProblem, i: number, shape: StepShape, hull: StepShape): StepShape {
  shapeStep(steps, i, shape);
  if (shape.convex) return shape;
  convexHull(shape, hull);
  return hull;
}
