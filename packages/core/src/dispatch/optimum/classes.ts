import type { BillTerm, ServiceFlows, TermValue } from '../../tariff/index.ts';
import type { Schedule } from './forward.ts';
import { copySteps, type StepProblem, unservedPrice } from './problem.ts';

/** A schedule, what passes the meter under it, and what each term makes of that. */
export interface Judged {
  readonly schedule: Schedule;
  readonly flows: ServiceFlows;
  readonly values: readonly TermValue[];
}

/** Money a kWh above a cap, as a multiple of the dearest price: a cap is left where the battery can't keep it, and there only. */
const OVER_CAP = 100;
/** Caps stay this share under the end of their class, against rounding. */
const HAIR = 1e-9;

/**
 * Schedules that stay within classes of power: a fee by the class has no slope that would lead to them. All billing periods
 * are capped at the end of each class in turn, then each at the class in which it came out cheapest: periods are tied by what is
 * stored at their ends alone. Of several charges by class each is tried under the caps of those before it.
 *
 * @param run finds a schedule for the steps that it is given, and judges it
 */
export function tryClasses(
  steps: StepProblem,
  terms: readonly BillTerm[],
  stepHours: number,
  run: (capped: StepProblem) => Judged,
): void {
  const { intervals } = steps;
  let dearest = 0;
  for (let i = 0; i < intervals; i++) dearest = Math.max(dearest, Math.abs(steps.importPricePerKwh[i]!));
  const capKwh = new Float64Array(intervals).fill(Number.POSITIVE_INFINITY);
  const over = new Float64Array(intervals).fill(OVER_CAP * Math.max(dearest, 1e-3));
  const runUnder = (caps: Float64Array) => {
    const capped = copySteps(steps);
    capped.importCapKwh = caps;
    capped.overCapPerKwh = over;
    return run(capped);
  };
  for (const term of terms) {
    if (term.kind !== 'demand' || term.steps === undefined) continue;
    const { group, groups, scale, steps: classes } = term;
    /** The caps so far, and within this term's group the end of the class that is named for it. */
    const capsAt = (upToKw: (g: number) => number) =>
      capKwh.map((cap, i) =>
        group[i]! < 0 ? cap : Math.min(cap, (1 - HAIR) * (upToKw(group[i]!) / scale) * stepHours),
      );
    const best = new Float64Array(groups).fill(Number.POSITIVE_INFINITY);
    const bestKw = new Float64Array(groups).fill(Number.POSITIVE_INFINITY);
    for (const kw of new Set([Number.POSITIVE_INFINITY, ...classes.upToKw])) {
      const costs = costOfGroups(steps, terms, term, runUnder(capsAt(() => kw)));
      for (let g = 0; g < groups; g++)
        if (costs[g]! < best[g]!) {
          best[g] = costs[g]!;
          bestKw[g] = kw;
        }
    }
    capKwh.set(capsAt((g) => bestKw[g]!));
    runUnder(capKwh.slice());
  }
}

/** What each group of a term costs, its part of the whole bill with it: from its first interval to that of the next. */
function costOfGroups(
  steps: StepProblem,
  terms: readonly BillTerm[],
  { group, groups, period }: BillTerm,
  { schedule, flows, values }: Judged,
): Float64Array {
  const costs = new Float64Array(groups);
  let g = Math.max(0, group.find((own) => own >= 0) ?? 0);
  for (let i = 0; i < steps.intervals; i++) {
    if (group[i]! >= 0) g = group[i]!;
    costs[g] =
      costs[g]! +
      flows.importKwh[i]! * steps.importPricePerKwh[i]! -
      flows.exportKwh[i]! * steps.exportPricePerKwh[i]! +
      steps.wearPerKwh * schedule.dischargeKwh[i]! +
      (schedule.unservedKwh[i]! > 0 ? unservedPrice(steps, i) * schedule.unservedKwh[i]! : 0);
  }
  for (const [t, { amount }] of values.entries())
    for (let k = 0; k < amount.length; k++) {
      const own = period.indexOf(terms[t]!.period[k]!);
      if (own >= 0) costs[own] = costs[own]! + amount[k]!;
    }
  return costs;
}
