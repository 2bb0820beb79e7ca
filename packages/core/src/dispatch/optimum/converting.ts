import { type Flows, type Levels, makeFlows, makeLevels, type PlantOnAxis } from '../../plant/index.ts';
import { executeLevels, quantityAt, startState } from '../../plant/inside.ts';
import type { CompiledTariff } from '../../tariff/index.ts';
import { totalOf } from '../../tariff/inside.ts';
import type { PriceChange } from '../../tariff/terms/bound.ts';
import { type BillTerm, kindOf } from '../../tariff/terms/registry.ts';
import type { CountedCharges } from '../../tariff/terms/term.ts';
import { solveTerms, type TermsSolution } from './bill-terms.ts';
import type { Schedule } from './forward.ts';
import { problemOf } from './home-problem.ts';
import { releaseSteps, type StepProblem, toSteps, unservedPrice } from './problem.ts';
import { makeReachable } from './reachable.ts';
import { asRun, levelsOf } from './schedule-levels.ts';

// What an inverter draws while it converts is the same however much it converts: no convex cost. The best with it is
// closed in from both sides: by the best without it, and by schedules that are run with it.

/** A run of a home. */
export interface Tried {
  readonly flows: Flows;
  readonly shortfallIntervals: number;
}

/** Less is what is left of prices that cancel each other, money a kWh. */
const ROUNDING_PER_KWH = 1e-12;

/** Times that a schedule is planned again on the steps that the last one converts in. */
const ROUNDS = 2;

/**
 * The best run found of a home whose inverter draws while it converts: of runs that others made, of the battery that does
 * nothing, and of schedules. A schedule is first planned without the draw; then, on the steps alone that it converted in,
 * with the draw in each of them, which is a convex problem again.
 *
 * @param steps the problem without the draw
 * @param without its solution
 */
export function bestConverting(
  onAxis: PlantOnAxis,
  tariff: CompiledTariff,
  steps: StepProblem,
  without: TermsSolution,
  others: readonly Tried[],
): TermsSolution {
  const { intervals, wearPerKwh, scratch } = steps;
  const problem = problemOf(onAxis, tariff);
  let best: (Tried & Pick<TermsSolution, 'billTotal' | 'cost'>) | undefined;
  /** Whether the run is the best so far: keeping the floor comes first. */
  const consider = (tried: Tried): boolean => {
    const { flows, shortfallIntervals } = tried;
    const billTotal = totalOf(tariff, flows);
    let cost = billTotal;
    for (let i = 0; i < intervals; i++) {
      cost += wearPerKwh * flows.dischargeKwh[i]!;
      if (flows.unservedKwh[i]! > 0) cost += unservedPrice(steps, i) * flows.unservedKwh[i]!;
    }
    if (best !== undefined) {
      if (shortfallIntervals > best.shortfallIntervals) return false;
      if (shortfallIntervals === best.shortfallIntervals && cost >= best.cost) return false;
    }
    best = { ...tried, billTotal, cost };
    return true;
  };
  const planOn = ({ flows }: Tried): Schedule => {
    const draw = (kwh: Float64Array) => kwh.map((own, i) => (moves(flows, i) ? own + onAxis.conversionKwh : own));
    const limit = (kw: number | Float64Array) =>
      Float64Array.from({ length: intervals }, (_, i) => (moves(flows, i) ? quantityAt(kw, i) : 0));
    const { servedLoadLimitKwh } = problem;
    const given = toSteps(
      {
        ...problem,
        wearPerKwh,
        netLoadKwh: draw(problem.netLoadKwh),
        ...(servedLoadLimitKwh === undefined ? {} : { servedLoadLimitKwh: draw(servedLoadLimitKwh) }),
        chargeLimitKw: limit(problem.chargeLimitKw),
        dischargeLimitKw: limit(problem.dischargeLimitKw),
      },
      scratch,
    );
    makeReachable(given);
    const { schedule } = solveTerms(given, tariff.terms, tariff.axis);
    releaseSteps(given);
    return schedule;
  };

  // A rule's cap on import may leave a floor unrestored that it could restore. A schedule holds no cap: the loop restores the
  // floor first, so that such a run is judged as the loop runs it without its cap.
  for (const other of others)
    consider(other.shortfallIntervals > 0 ? runLevels(onAxis, levelsOf(onAxis, other.flows)) : other);
  const idle = idleLevels(intervals);
  consider(runLevels(onAxis, idle));
  let tried = runLevels(onAxis, levelsOf(onAxis, without.schedule, idle, 0));
  consider(tried);
  for (let round = 0; round < ROUNDS; round++) {
    tried = runLevels(onAxis, levelsOf(onAxis, planOn(tried), idle));
    if (!consider(tried)) break;
  }
  const { flows, billTotal, cost } = best!;
  return {
    ...without,
    schedule: asRun(without.schedule, flows),
    flows: { importKwh: flows.importKwh, exportKwh: flows.exportKwh },
    billTotal,
    cost,
    exact: false,
  };
}

/** Levels of a battery that does nothing. */
export function idleLevels(intervals: number): Levels {
  const idle = makeLevels(intervals);
  idle.solarChargeToKwh.fill(Number.NEGATIVE_INFINITY);
  idle.serveDownToKwh.fill(Number.POSITIVE_INFINITY);
  return idle;
}

/** Runs levels over the whole axis. */
export function runLevels(onAxis: PlantOnAxis, levels: Levels): Tried {
  const flows = makeFlows(onAxis.axis.intervals);
  const state = startState(onAxis);
  executeLevels(onAxis, levels, 0, onAxis.axis.intervals, state, flows);
  return { flows, shortfallIntervals: state.shortfallIntervals };
}

/** Whether the inverter converts in a step. */
function moves({ chargeKwh, dischargeKwh }: Flows, i: number): boolean {
  return chargeKwh[i]! > 0 || dischargeKwh[i]! > 0;
}

/**
 * The most that converting may earn by its draw: by how much a schedule with the draw may cost less than the best without.
 *
 * Take any run with the draw. Without it the same run may give the draw's energy less in each step that discharges, which
 * leaves what passes the meter as it is, and take what then doesn't fit any more less, later on. So it buys no more, or
 * sells no less: where no kWh more of import lowers the bill, and no kWh more of export raises it, it costs no more. Where
 * one does, by `earns`, the run with the draw may have been paid for the draw itself, and for the room that it made.
 */
export function mostEarnedByDraw(onAxis: PlantOnAxis, tariff: CompiledTariff): number {
  const { conversionKwh, conversion, axis, chargeLimitKwh } = onAxis;
  const earns = mostEarnedPerKwh(tariff);
  const roundTrip = conversion.chargeEfficiency * conversion.dischargeEfficiency;
  /** Counted where the energy is drawn, and where it is taken in place of it: each is as much as it can be. */
  let whereDrawn = 0;
  let whereTaken = 0;
  let later = 0;
  for (let i = axis.intervals - 1; i >= 0; i--) {
    const earned = earns[i]!;
    whereDrawn += conversionKwh * Math.max(earned, later / roundTrip);
    if (earned > 0) whereTaken += earned * (conversionKwh + quantityAt(chargeLimitKwh, i));
    if (earned > later) later = earned;
  }
  return Math.min(whereDrawn, whereTaken);
}

/** What a kWh more of import, or less of export, may take off the bill at the most in each interval, money; 0 on most bills. */
function mostEarnedPerKwh(tariff: CompiledTariff): Float64Array {
  const least = leastSlopesOf(tariff);
  return Float64Array.from({ length: tariff.axis.intervals }, (_, i) => {
    const most = Math.max(-least.importPerKwh[i]!, -least.exportPerKwh[i]!);
    return most > ROUNDING_PER_KWH ? most : 0;
  });
}

/** The least that a kWh more of import costs by some charges in each interval, and that one of export earns, under any flows. */
export function leastSlopesOf({ importPricePerKwh, exportPricePerKwh, terms }: CountedCharges): PriceChange {
  const least: PriceChange = { importPerKwh: importPricePerKwh.slice(), exportPerKwh: exportPricePerKwh.slice() };
  for (const term of terms) kindOf(term as BillTerm).addLeastSlopes?.(term as BillTerm, least, leastSlopesOf);
  return least;
}
