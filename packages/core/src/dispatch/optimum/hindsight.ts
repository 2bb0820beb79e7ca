import { check, number, optional, record } from '../../input/door.ts';
import { type Levels, makeLevels, type PlantOnAxis } from '../../plant/index.ts';
import { aPlantOnAxis, energies } from '../../plant/inside.ts';
import type { ServiceFlows } from '../../tariff/index.ts';
import { totalOf } from '../../tariff/inside.ts';
import { aHome, type Home, layHome } from '../home.ts';
import { enter } from '../identity.ts';
import { peakShave } from '../peak-shave.ts';
import { selfConsumption } from '../plain.ts';
import { playStrategy } from '../play.ts';
import type { Planner, Strategy, StrategyView } from '../strategy.ts';
import { windowFill } from '../window.ts';
import { makeReachable, planBackward, releasePlan } from './backward.ts';
import { meterOf, solveTerms, type TermsSolution } from './bill-terms.ts';
import { followForward, type Schedule } from './forward.ts';
import { problemOf } from './home-problem.ts';
import { releaseSteps, type StepProblem, toSteps } from './problem.ts';

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
  const steps = toSteps({ ...problemOf(onAxis, tariff), wearPerKwh });
  makeReachable(steps);
  // Buy-all, sell-all: the battery doesn't change the bill.
  if (tariff.metering === 'gross') return withoutEffect(home, steps);
  const solved = solveTerms(steps, tariff.terms, tariff.axis);
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

/** What was found where the bill bends need not be the best: no rule may come under it. */
function bestOfRules(home: Home, solved: TermsSolution, onAxis: PlantOnAxis, wearPerKwh: number): TermsSolution {
  let best = solved;
  for (const rule of [selfConsumption, windowFill, peakShave()]) {
    const { flows, shortfallIntervals } = playStrategy(rule, home, { onAxis });
    const total = totalOf(home.tariff, flows);
    let cost = total;
    let unserved = 0;
    for (let i = 0; i < home.axis.intervals; i++) {
      cost += wearPerKwh * flows.dischargeKwh[i]!;
      unserved += flows.unservedKwh[i]!;
    }
    if (shortfallIntervals > 0 || unserved > 0 || !(cost < best.cost)) continue;
    const { chargeKwh, dischargeKwh, socKwh, curtailedKwh, unservedKwh } = flows;
    best = {
      ...best,
      schedule: { ...solved.schedule, chargeKwh, dischargeKwh, socKwh, curtailedKwh, unservedKwh },
      flows: { importKwh: flows.importKwh, exportKwh: flows.exportKwh },
      billTotal: total,
      cost,
    };
  }
  return best;
}

function withoutEffect(home: Home, steps: StepProblem): Hindsight {
  const plan = planBackward(steps);
  const schedule = followForward(steps, plan);
  const flows = meterOf(steps, schedule);
  releasePlan(plan, steps.scratch);
  releaseSteps(steps);
  const total = totalOf(home.tariff, { importKwh: home.loadKwh, exportKwh: home.solarKwh });
  return { schedule, flows, billTotal: total, boundTotal: total, proof: 'exact' };
}

/** A schedule as levels: each step is told where to end. */
export function levelsOf(onAxis: PlantOnAxis, schedule: Schedule, levels: Levels = makeLevels(onAxis.axis.intervals)) {
  const { netKwh } = onAxis;
  const { chargeKwh, dischargeKwh, socKwh } = schedule;
  for (let i = 0; i < netKwh.length; i++) {
    const end = socKwh[i]!;
    const net = netKwh[i]!;
    const charge = chargeKwh[i]!;
    const discharge = dischargeKwh[i]!;
    levels.solarChargeToKwh[i] = charge > 0 ? end : Number.NEGATIVE_INFINITY;
    levels.gridChargeToKwh[i] = charge > Math.max(0, -net) + 1e-12 ? end : Number.NEGATIVE_INFINITY;
    levels.serveDownToKwh[i] = discharge > 0 ? end : Number.POSITIVE_INFINITY;
    levels.exportDownToKwh[i] = discharge > Math.max(0, net) + 1e-12 ? end : Number.POSITIVE_INFINITY;
  }
  return levels;
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
