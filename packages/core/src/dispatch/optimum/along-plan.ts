import type { Plan } from './backward.ts';
import type { DispatchSolution, StepProblem } from './problem.ts';

/** Less than this share of the store is rounding, and moves nothing. */
export const DUST = 1e-12;

/** A schedule and its cost; `unservedCost` is the penalty that the plan's bound holds and `cost` doesn't. */
export interface Schedule extends Omit<DispatchSolution, 'proof' | 'gap'> {
  readonly unservedCost: number;
  /** Cost of import above the cap, in `cost`. */
  readonly overCapCost: number;
}

/**
 * What is stored after a run of steps, by its levels; fills `left` with what it stores of each kind, or, where it gives,
 * with what it leaves unused.
 */
export function aimOfRun(
  plan: Plan,
  at: number,
  firstDischarge: number,
  last: number,
  held: number,
  dust: number,
  left: Float64Array,
): number {
  const { kind, width, level } = plan;
  let end = held;
  left.fill(0);
  for (let k = firstDischarge - 1; k >= at; k--) {
    const room = level[k]! - end;
    if (room <= dust) break;
    if (room <= width[k]!) {
      left[kind[k]!] = room;
      end = level[k]!;
      break;
    }
    left[kind[k]!] = width[k]!;
    end += width[k]!;
  }
  for (let k = firstDischarge; k < last; k++) left[kind[k]!] = width[k]!;
  if (end > held) return end;
  for (let k = firstDischarge; k < last; k++) {
    const drop = end - level[k]!;
    if (drop < width[k]! - dust) {
      if (drop > dust) {
        left[kind[k]!] = width[k]! - drop;
        end = level[k]!;
      }
      break;
    }
    left[kind[k]!] = 0;
    end -= width[k]!;
  }
  return end;
}

/**
 * Makes values of a stored kWh of what each step's decision left open ("charge less, or discharge more"): a kWh more is used so
 * or held for later, whatever is worth more.
 * @param plan left out where every step was convex
 * @returns worth of what is left at the end
 */
export function settleValues(
  problem: StepProblem,
  plan: Pick<Plan, 'convex' | 'kept'> | undefined,
  socKwh: Float64Array,
  marginal: Float64Array,
  dust: number,
): number {
  const { intervals: n, highKwh, floorKwh, decay, initialKwh, finalValuePerKwh } = problem;
  if (n === 0) return 0;
  let later = highKwh[n - 1]! > floorKwh[n - 1]! ? finalValuePerKwh : 0;
  for (let i = n - 1; i >= 0; i--) {
    const before = i > 0 ? socKwh[i - 1]! : initialKwh;
    let worth = marginal[i]!;
    const settled = plan?.convex === false && plan.kept.has(i);
    if (!settled && highKwh[i]! - socKwh[i]! > dust && later > worth) worth = later;
    if (worth === Number.NEGATIVE_INFINITY) worth = 0;
    if (before >= floorKwh[i]!) worth *= 1 - decay;
    marginal[i] = worth;
    later = worth;
  }
  const leftKwh = socKwh[n - 1]! - floorKwh[n - 1]!;
  return leftKwh > 0 ? finalValuePerKwh * leftKwh : 0;
}

/**
 * What a kWh more is worth in a step that could have given it: to its load, or else to the grid; −∞ where neither takes it.
 *
 * @param limitKwh what may be given
 * @param dustKwh stored energy that counts as none
 */
export function worthOfGiving(
  netKwh: number,
  limitKwh: number,
  storedPerAc: number,
  dustKwh: number,
  serve: number,
  sell: number,
): number {
  const served = netKwh < 0 ? 0 : netKwh < limitKwh ? netKwh : limitKwh;
  if (served * storedPerAc > dustKwh) return serve;
  return (limitKwh - served) * storedPerAc > dustKwh ? sell : Number.NEGATIVE_INFINITY;
}

/** A schedule in which nothing is thrown away and all load is carried. */
export function plainSchedule(
  flows: Pick<Schedule, 'cost' | 'chargeKwh' | 'dischargeKwh' | 'socKwh' | 'marginalValuePerKwh'>,
): Schedule {
  const n = flows.socKwh.length;
  return {
    ...flows,
    curtailedKwh: new Float64Array(n),
    unservedKwh: new Float64Array(n),
    unservedCost: 0,
    overCapCost: 0,
  };
}
