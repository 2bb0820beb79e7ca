import type { BillTerm } from '../../tariff/index.ts';
import type { Multiplied } from '../../tariff/terms/bound.ts';
import { type DemandTerm, stepOf } from '../../tariff/terms/demand.ts';
import { planBackward, releasePlan, type ValueCurve } from './backward.ts';
import { costAt, lowerOf } from './curve.ts';
import { followForward } from './forward.ts';
import { copySteps, type StepProblem } from './problem.ts';
import { spansOf } from './quantity-range.ts';
import { sliceOf, startBand } from './slice.ts';

/** Money a kWh above a cap, as a multiple of the dearest price: a cap is left where the battery can't keep it, and there only. */
const OVER_CAP = 100;
/** Caps stay this share under the end of their class, against rounding. */
const HAIR = 1e-9;
/** Groups whose classes are moved one at a time: each takes a search of its own. */
const FEW_GROUPS = 4;

/** A fee by the class of power, period by period. */
export interface ClassFees {
  /** Index of the term. */
  readonly term: number;
  readonly group: Int32Array;
  /** The groups with intervals, in order of time, and where each begins that isn't the first. */
  readonly stages: readonly { readonly group: number; readonly first: number; readonly end: number }[];
  /** The highest import of an interval that a class holds, kWh. */
  readonly capKwh: Float64Array;
  /** How many times as much an interval may import where several are averaged, or several days. */
  readonly slack: number;
  readonly share: Float64Array;
  /** What each group pays at least above the lowest fee of all, once its own power is of a class. */
  readonly above: readonly Float64Array[];
}

/** What the best classes come to. */
export interface BestClasses {
  /** No schedule costs less, fees above the lowest included. */
  readonly bound: number;
  /** Class of each group. */
  readonly chosen: Int32Array;
}

/** The fees by class among a bill's terms whose groups follow each other. */
export function classFees(terms: readonly BillTerm[], stepHours: number): readonly ClassFees[] {
  return terms.flatMap((term, at) => {
    if (term.kind !== 'demand' || term.steps === undefined) return [];
    const { group, groups, scale, steps, averagingSteps, highestDays, minimumKw, ratchet } = term as DemandTerm;
    const { first, end } = spansOf(group, groups);
    const order = [...first.keys()].filter((g) => first[g]! >= 0).sort((a, b) => first[a]! - first[b]!);
    const isApart = order.every((g, k) => k === 0 || end[order[k - 1]!]! <= first[g]!);
    if (order.length === 0 || !isApart) return [];
    const { upToKw, amount, share } = steps!;
    const lowest = Math.min(...amount);
    return [
      {
        term: at,
        group,
        stages: order.map((g, k) => ({
          group: g,
          first: k === 0 ? 0 : first[g]!,
          end: k + 1 < order.length ? first[order[k + 1]!]! : group.length,
        })),
        capKwh: upToKw.map((kw) => (kw / scale) * stepHours),
        slack: averagingSteps * highestDays,
        share,
        above: Array.from({ length: groups }, (_, g) => {
          const leastKw = Math.max(minimumKw[g]!, ratchet === undefined ? 0 : ratchet.share * ratchet.historyKw[g]!);
          const least = stepOf(upToKw, leastKw);
          // A minimum and a ratchet may put it into a higher class, which may be cheaper.
          return amount.map((_, k) => Math.min(...amount.subarray(Math.max(k, least))) - lowest);
        }),
      },
    ];
  });
}

/** What of each group's fee the multipliers leave: a minimum bill that counts it takes a share off. */
export function leftOfFees({ term, share }: ClassFees, parts: readonly Multiplied[]): Float64Array {
  const left = share.slice();
  for (const { fees = [], multiplier } of parts)
    for (const own of fees)
      if (own.term === term)
        for (let g = 0; g < left.length; g++)
          left[g] = Math.max(0, left[g]! - (multiplier[own.group[g]!] ?? 0) * own.share[g]!);
  return left;
}

/** Parts whose quantities begin with the fees of the classes chosen in place of the lowest. */
export function withFees(parts: readonly Multiplied[], { term, above }: ClassFees, chosen: Int32Array): Multiplied[] {
  return parts.map((part) => {
    const begun = part.begun.slice();
    for (const { share, group, ...own } of part.fees ?? [])
      if (own.term === term)
        for (const [g, p] of group.entries())
          if (begun[p] !== undefined) begun[p] = begun[p] - share[g]! * (above[g]![chosen[g]!] ?? 0);
    return { ...part, begun };
  });
}

/**
 * The best class of power of each period. A fee by the class has no slope that would lead anywhere; but within a class it is
 * the same whatever is done, and the problem under the class's cap keeps its form. Periods are tied by what is stored at their
 * ends alone: from the last to the first, the lowest of the classes' costs to go, made convex, is a lower bound of what the
 * rest of the time costs. Forward each period takes the class that is cheapest with what it starts with.
 *
 * @param left of each group's fee
 */
export function bestClasses(steps: StepProblem, fees: ClassFees, left: Float64Array): BestClasses {
  const within = alongClasses(steps, fees, left, 1);
  if (steps.importCapKwh !== undefined) return { ...within, bound: Number.NEGATIVE_INFINITY };
  return fees.slack === 1 ? within : { ...within, bound: alongClasses(steps, fees, left, fees.slack).bound };
}

function alongClasses(
  steps: StepProblem,
  { group, stages, capKwh, above }: ClassFees,
  left: Float64Array,
  slack: number,
): BestClasses {
  const { intervals, initialKwh, importCapKwh, scratch } = steps;
  const caps = new Float64Array(intervals).fill(Number.POSITIVE_INFINITY);
  const capped = copySteps(underCaps(steps, caps));
  capped.importCapKwh = caps;
  const setCap = ({ group: own, first, end }: (typeof stages)[number], k: number) => {
    for (let i = first; i < end; i++) {
      const cap = group[i] === own ? slack * (1 - HAIR) * capKwh[k]! : Number.POSITIVE_INFINITY;
      caps[i] = Math.min(cap, importCapKwh?.[i] ?? cap);
    }
  };
  /** Costs to go at the start of each stage, and in each of its classes. */
  const curves: ValueCurve[] = [];
  const ofClasses: ValueCurve[][] = [];
  for (let s = stages.length - 1; s >= 0; s--) {
    const stage = stages[s]!;
    const own = Array.from(capKwh, (_, k) => {
      setCap(stage, k);
      const plan = planBackward(sliceOf(capped, stage.first, stage.end, initialKwh), {
        after: curves[s + 1],
        ...startBand(steps, stage.first, initialKwh),
      });
      releasePlan(plan, scratch);
      return { ...plan.start, costAtLow: plan.start.costAtLow + left[stage.group]! * above[stage.group]![k]! };
    });
    ofClasses[s] = own;
    curves[s] = own.reduce(lowerOf);
  }
  const chosen = new Int32Array(left.length);
  let startKwh = initialKwh;
  for (const [s, stage] of stages.entries()) {
    const costs = ofClasses[s]!.map((curve) => costAt(curve, startKwh));
    const k = costs.indexOf(Math.min(...costs));
    chosen[stage.group] = k;
    setCap(stage, k);
    const slice = sliceOf(capped, stage.first, stage.end, startKwh);
    const plan = planBackward(slice, { after: curves[s + 1] });
    const { socKwh } = followForward(slice, plan);
    releasePlan(plan, scratch);
    startKwh = socKwh[socKwh.length - 1]!;
  }
  return { bound: curves[0]!.costAtLow, chosen };
}

/** The same steps with import above the caps at a penalty. */
export function underCaps(steps: StepProblem, capKwh: Float64Array): StepProblem {
  let dearest = 1e-3;
  for (let i = 0; i < steps.intervals; i++) dearest = Math.max(dearest, Math.abs(steps.importPricePerKwh[i]!));
  const capped = copySteps(steps);
  capped.importCapKwh =
    steps.importCapKwh === undefined ? capKwh : capKwh.map((cap, i) => Math.min(cap, steps.importCapKwh![i]!));
  capped.overCapPerKwh = new Float64Array(steps.intervals).fill(OVER_CAP * dearest);
  return capped;
}

/** Import under which each interval stays within the class of its group. */
export function capsOf({ group, capKwh }: ClassFees, chosen: Int32Array): Float64Array {
  return Float64Array.from(group, (g) => (g < 0 ? Number.POSITIVE_INFINITY : (1 - HAIR) * capKwh[chosen[g]!]!));
}

/** Classes to try beside those chosen: of few groups each moved by one, of many all in one class. */
export function* classesBeside({ capKwh }: ClassFees, chosen: Int32Array): Generator<Int32Array> {
  if (chosen.length > FEW_GROUPS) {
    for (const k of capKwh.keys()) yield chosen.map(() => k);
    return;
  }
  for (const [g, k] of chosen.entries())
    for (const other of [k - 1, k + 1])
      if (other >= 0 && other < capKwh.length) yield chosen.map((own, at) => (at === g ? other : own));
}
