import { sum } from '../../axis/sum.ts';
import { check, number, optional, record } from '../../input/door.ts';
import type { Levels, PlantOnAxis } from '../../plant/index.ts';
import { aPlantOnAxis, energies, quantityAt } from '../../plant/inside.ts';
import type { ServiceFlows } from '../../tariff/index.ts';
import { totalOf } from '../../tariff/inside.ts';
import { billedFlows } from '../billed.ts';
import { aHome, type Home, layHome } from '../home.ts';
import { enter } from '../identity.ts';
import { peakShave } from '../peak-shave.ts';
import { selfConsumption } from '../plain.ts';
import { playStrategy } from '../play.ts';
import type { Planner, Strategy, StrategyView } from '../strategy.ts';
import { windowFill } from '../window.ts';
import { solveTerms, type TermsSolution } from './bill-terms.ts';
import { bestConverting, idleLevels, mostEarnedByDraw, runLevels, type Tried } from './converting.ts';
import type { Schedule } from './forward.ts';
import { problemOf } from './home-problem.ts';
import {
  copySteps,
  type DispatchProblem,
  releaseSteps,
  type StepProblem,
  toSteps,
  UNSERVED_FACTOR,
} from './problem.ts';
import { makeReachable } from './reachable.ts';
import { asRun, levelsOf } from './schedule-levels.ts';

/** The best schedule found for a home on its tariff, and what is proven about it. */
export interface Hindsight {
  readonly schedule: Schedule;
  readonly flows: ServiceFlows;
  /** Unrounded bill of the schedule. */
  readonly billTotal: number;
  /** No schedule's bill is lower. */
  readonly boundTotal: number;
  readonly proof: 'exact' | 'gap';
}

/** What {@link bestInHindsight} may be told. */
export interface HindsightOptions {
  /** Money per AC kWh discharged, weighed in the schedule and not in the bill. @defaultValue 0 */
  readonly wearPerKwh?: number;
  /** Result of {@link homeOnAxis} for this home, where others use it too. */
  readonly onAxis?: PlantOnAxis;
}

/**
 * The cheapest way to have run a home's battery, all known beforehand.
 * @throws InputError on a home that is not sound
 */
export function bestInHindsight(home: Home, options: HindsightOptions = {}): Hindsight {
  check(
    { home, options },
    {
      home: aHome,
      options: record<HindsightOptions>({
        wearPerKwh: optional(number({ least: 0 })),
        onAxis: optional(aPlantOnAxis),
      }),
    },
  );
  return lookBack(home, options);
}

/** {@link bestInHindsight} of a home that was checked. */
export function lookBack(home: Home, options: HindsightOptions = {}): Hindsight {
  const { wearPerKwh = 0, onAxis = layHome(home) } = options;
  const { tariff } = home;
  if (tariff.metering === 'gross') return lookBackApart(home, onAxis, wearPerKwh);
  const steps = toSteps({ ...problemOf(onAxis, tariff), wearPerKwh });
  makeReachable(steps);
  const solved = solveTerms(steps, tariff.terms, tariff.axis);
  if (onAxis.conversionKwh > 0) return lookBackConverting(home, onAxis, steps, solved);
  releaseSteps(steps);
  const { bound, exact } = solved;
  const best = exact ? solved : bestOfRules(home, solved, onAxis, wearPerKwh);
  return {
    schedule: best.schedule,
    flows: best.flows,
    billTotal: best.billTotal,
    boundTotal: exact ? best.billTotal : best.billTotal - Math.max(0, best.cost - bound),
    proof: exact ? 'exact' : 'gap',
  };
}

/** The rules that the best found is held against. */
const rulesTried = () => [selfConsumption, windowFill, peakShave()];

/** The same where converting draws: from below the problem without the draw, from above what was run with it. */
function lookBackConverting(home: Home, onAxis: PlantOnAxis, steps: StepProblem, without: TermsSolution): Hindsight {
  const { tariff } = home;
  const rules: Tried[] = rulesTried().map((rule) => playStrategy(rule, home, { onAxis }));
  const best = bestConverting(onAxis, tariff, steps, without, rules);
  const earned = mostEarnedByDraw(onAxis, tariff);
  let excess = best.cost - without.bound;
  const unservedKwh = sum(best.schedule.unservedKwh);
  if (unservedKwh > sum(without.schedule.unservedKwh)) {
    // The draw leaves more load unserved than the bound has: at a price of its own it would make up all of the gap. At
    // the dearest kWh of the tariff it doesn't, and the bound holds for all that leave no more unserved.
    const mild = copySteps(steps);
    mild.unservedPerKwh = steps.unservedPerKwh / UNSERVED_FACTOR;
    mild.unservedRisePerStep = 0;
    const { bound } = solveTerms(mild, tariff.terms, tariff.axis);
    const paid = best.billTotal + steps.wearPerKwh * sum(best.schedule.dischargeKwh);
    excess = Math.min(excess, paid + mild.unservedPerKwh * unservedKwh - bound);
  }
  releaseSteps(steps);
  return {
    schedule: best.schedule,
    flows: best.flows,
    billTotal: best.billTotal,
    boundTotal: best.billTotal - Math.max(0, excess + earned),
    proof: 'gap',
  };
}

/** What was found where the bill bends need not be the best: no rule may come under it, nor a battery that does nothing. */
function bestOfRules(home: Home, solved: TermsSolution, onAxis: PlantOnAxis, wearPerKwh: number): TermsSolution {
  let best = solved;
  const runs = [
    runLevels(onAxis, idleLevels(home.axis.intervals)),
    ...rulesTried().map((rule) => playStrategy(rule, home, { onAxis })),
  ];
  for (const { flows, shortfallIntervals } of runs) {
    const total = totalOf(home.tariff, flows);
    let cost = total;
    let unserved = 0;
    for (let i = 0; i < home.axis.intervals; i++) {
      cost += wearPerKwh * flows.dischargeKwh[i]!;
      unserved += flows.unservedKwh[i]!;
    }
    if (shortfallIntervals > 0 || unserved > 0 || !(cost < best.cost)) continue;
    best = {
      ...best,
      schedule: asRun(solved.schedule, flows),
      flows: { importKwh: flows.importKwh, exportKwh: flows.exportKwh },
      billTotal: total,
      cost,
    };
  }
  return best;
}

/**
 * A home under buy-all, sell-all as a dispatch problem: the load's meter sees load and battery, whatever the sun does. So it is
 * that of a home without solar, whose battery gives no more than the loop lets it give (what the sun leaves of the load), and
 * without charging from the grid takes no more than the surplus.
 */
export function problemApart(
  { tariff, loadKwh }: Pick<Home, 'tariff' | 'loadKwh'>,
  onAxis: PlantOnAxis,
): DispatchProblem {
  const { netKwh, clippedKwh, standbyKwh, stepHours, gridCharging, batteryExport, importLimitKwh } = onAxis;
  const problem = problemOf(onAxis, tariff);
  const { chargeEfficiency, solarChargeEfficiency } = onAxis.conversion;
  const n = netKwh.length;
  const chargeLimitKw = new Float64Array(n);
  const dischargeLimitKw = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const net = netKwh[i]!;
    const mostKwh = Math.max(0, gridCharging ? importLimitKwh - net : -net) + (clippedKwh?.[i] ?? 0);
    chargeLimitKw[i] = Math.min(quantityAt(onAxis.chargeLimitKwh, i), mostKwh) / stepHours;
    const carriedKwh = batteryExport ? loadKwh[i]! + standbyKwh : Math.max(0, net);
    dischargeLimitKw[i] = Math.min(quantityAt(onAxis.dischargeLimitKwh, i), carriedKwh) / stepHours;
  }
  const { clippedKwh: _, ...open } = problem;
  return {
    ...open,
    netLoadKwh: loadKwh.map((kwh) => kwh + standbyKwh),
    chargeEfficiency: Math.max(chargeEfficiency, solarChargeEfficiency),
    solarChargeEfficiency: Math.max(chargeEfficiency, solarChargeEfficiency),
    chargeLimitKw,
    dischargeLimitKw,
    gridCharging: true,
    batteryExport: false,
    importLimitKw: Number.POSITIVE_INFINITY,
    exportLimitKw: Number.POSITIVE_INFINITY,
  };
}

/**
 * What is found where the battery may sell nothing, not be charged from the grid, or neither: run, it may come out cheaper. Under
 * buy-all, sell-all the steps say nothing of either: it stands in the limits of {@link problemApart}, so that the home is laid out
 * anew for each, where `lessAllowed` turns a step's own allowances off.
 */
function solvedWithLess(home: Home, wearPerKwh: number): Schedule[] {
  const { plant, tariff, solarKwh } = home;
  const kinds = [true, false].flatMap((gridCharging) =>
    [true, false].map((batteryExport) => ({ gridCharging, batteryExport })),
  );
  return kinds.slice(1).flatMap((kind) => {
    if ((kind.gridCharging && !plant.gridCharging) || (kind.batteryExport && !plant.batteryExport)) return [];
    if (kind.gridCharging === plant.gridCharging && kind.batteryExport === plant.batteryExport) return [];
    const less = { ...home, plant: { ...plant, ...kind } };
    const steps = toSteps({ ...problemApart(less, layHome(less)), wearPerKwh });
    makeReachable(steps);
    const { schedule } = solveTerms(steps, tariff.terms, tariff.axis, [], solarKwh);
    releaseSteps(steps);
    return [schedule];
  });
}

/** The best under buy-all, sell-all: what is found for {@link problemApart} is run by the loop, and billed as the meters say. */
function lookBackApart(home: Home, onAxis: PlantOnAxis, wearPerKwh: number): Hindsight {
  const { tariff, solarKwh } = home;
  const steps = toSteps({ ...problemApart(home, onAxis), wearPerKwh });
  makeReachable(steps);
  const solved = solveTerms(steps, tariff.terms, tariff.axis, [], solarKwh);
  releaseSteps(steps);
  const tryRun = (schedule: Schedule) => runLevels(onAxis, levelsOf(onAxis, schedule));
  const runs = [
    tryRun(solved.schedule),
    ...solvedWithLess(home, wearPerKwh).map(tryRun),
    ...rulesTried().map((rule) => playStrategy(rule, home, { onAxis })),
  ];
  const tried = runs.map(({ flows, shortfallIntervals }) => {
    const billTotal = totalOf(tariff, billedFlows(home, flows));
    return { flows, billTotal, shortfallIntervals, cost: billTotal + wearPerKwh * sum(flows.dischargeKwh) };
  });
  const best = tried.reduce((least, run) =>
    run.shortfallIntervals < least.shortfallIntervals ||
    (run.shortfallIntervals === least.shortfallIntervals && run.cost < least.cost)
      ? run
      : least,
  );
  const earned = onAxis.conversionKwh > 0 ? mostEarnedByDraw(onAxis, tariff) : 0;
  const gap = Math.max(0, best.cost - solved.bound + earned);
  const exact = gap <= 1e-9 * Math.max(1, Math.abs(best.cost));
  return {
    schedule: asRun(solved.schedule, best.flows),
    flows: billedFlows(home, best.flows),
    billTotal: best.billTotal,
    boundTotal: exact ? best.billTotal : best.billTotal - gap,
    proof: exact ? 'exact' : 'gap',
  };
}

/**
 * The best possible in hindsight, as a strategy like any other; `made` where it was computed for this home before.
 *
 * @param wearPerKwh money per AC kWh discharged that the schedule counts: a cycle that earns less is not made
 * @throws InputError on a negative wear, and, when it is run, on a schedule of another home's length
 */
export function optimum(made?: Hindsight, wearPerKwh = 0): Strategy {
  check({ made, wearPerKwh }, { made: optional(record({ schedule: someSchedule })), wearPerKwh: number({ least: 0 }) });
  return enter({
    name: wearPerKwh > 0 ? 'optimum-wear' : 'optimum',
    knowledge: 'foresight',
    role: wearPerKwh > 0 ? 'yardstick' : 'bound',
    countsWear: wearPerKwh > 0,
    begin(view: StrategyView) {
      const onAxis = layHome(view);
      if (made === undefined) return new Replay(onAxis, lookBack(view, { onAxis, wearPerKwh }).schedule);
      check({ schedule: made.schedule }, { schedule: someSchedule }, view.axis.intervals);
      return new Replay(onAxis, made.schedule);
    },
  });
}

const someSchedule = record({ chargeKwh: energies, dischargeKwh: energies, socKwh: energies });

class Replay implements Planner {
  private readonly onAxis: PlantOnAxis;
  private readonly schedule: Schedule;

  constructor(onAxis: PlantOnAxis, schedule: Schedule) {
    this.onAxis = onAxis;
    this.schedule = schedule;
  }

  plan(_from: number, _socKwh: number, levels: Levels): number {
    levelsOf(this.onAxis, this.schedule, levels);
    return this.onAxis.axis.intervals;
  }
}
