import { check, number, optional, record } from '../../input/door.ts';
import type { Levels, PlantPerStep } from '../../plant/index.ts';
import { copyQuantity, layFlows, plantPerStep, quantityAt } from '../../plant/inside.ts';
import type { DemandTerm } from '../../tariff/index.ts';
import { publicationEnd } from '../curtain.ts';
import { copyDay, likeDays } from '../forecast/like-days.ts';
import { enter } from '../identity.ts';
import { planBackward, releasePlan, type ValueCurve } from '../optimum/backward.ts';
import { isPlain } from '../optimum/problem.ts';
import { makeReachable } from '../optimum/reachable.ts';
import type { Planner, Strategy, StrategyView } from '../strategy.ts';
import { BlockWatch } from './block-watch.ts';
import { eachDay, type HalfDays, halfDays, seededNormal } from './futures.ts';
import { meanLevels } from './mean-level.ts';
import { PeakWatch } from './peak-watch.ts';
import { emptySteps, fillLimits, flowsOf, type PlanSteps } from './plan-steps.ts';
import { SunSoFar } from './sun-so-far.ts';

/** How {@link rolling} looks ahead. */
export interface RollingOptions {
  /** Hours from one plan to the next, > 0, at most 24; at least one interval, at most to the next noon or midnight. @defaultValue 1 */
  readonly everyHours?: number;
  /** Hours that a plan looks ahead at most, > 0 and up to 336: it ends at a noon or midnight, up to 12 h sooner. @defaultValue 48 */
  readonly horizonHours?: number;
  /** Past days taken as futures, 1 to 100. @defaultValue 7 */
  readonly scenarios?: number;
  /** Money per AC kWh discharged that a plan counts. @defaultValue 0 */
  readonly wearPerKwh?: number;
  /**
   * A solar forecast for today and tomorrow: the truth, each day off by a factor of seeded, normal error with this
   * standard deviation. It knows the future, so that the strategy is no longer causal.
   */
  readonly solarForecast?: { readonly error: number; readonly seed: number };
}

/** With nothing seen yet, a home is taken to draw this much. */
const FIRST_LOAD_KW = 0.5;
/** Weeks over which the reached circuits' share of the load is taken. */
const REACH_HOURS = 4 * 168;

/**
 * Plans again every hour, from the past alone: several past days, taken as futures, each give the value of a stored
 * kWh over the next 36 to 48 hours by the same recursion as the optimum; the battery acts on their average. So it
 * hedges: what one future would spend and another keep is weighed. Nothing in it is tuned to a home or a year.
 *
 * @throws InputError `out-of-range`: no hours, horizons above two weeks, scenarios other than 1 to 100
 * @see docs/concepts/forecast.md
 */
export function rolling(options: RollingOptions = {}): Strategy {
  check(options, {
    everyHours: optional(number({ above: 0, most: 24 })),
    horizonHours: optional(number({ above: 0, most: 336 })),
    scenarios: optional(number({ whole: true, least: 1, most: 100 })),
    wearPerKwh: optional(number({ least: 0 })),
    solarForecast: optional(record({ error: number({ least: 0, most: 10 }), seed: number() })),
  });
  const countsWear = (options.wearPerKwh ?? 0) > 0;
  return enter({
    name: `rolling${options.solarForecast === undefined ? '' : '-forecast'}${countsWear ? '-wear' : ''}`,
    knowledge: options.solarForecast === undefined ? 'causal' : 'foresight',
    role: 'yardstick',
    countsWear,
    begin: (view: StrategyView) => new RollingPlanner(view, options),
  });
}

/** One past day's life as a future: to the next midnight step by step, beyond it as a value. */
interface Future {
  readonly load: Float64Array;
  readonly solar: Float64Array;
  /** The past day that its sun is taken from. */
  readonly sunnyDay: number;
  after: ValueCurve | undefined;
}

class RollingPlanner implements Planner {
  private readonly view: StrategyView;
  private readonly plant: PlantPerStep;
  private readonly options: RollingOptions;
  private readonly every: number;
  private readonly halves: HalfDays;
  private readonly ahead: number;
  private readonly near: PlanSteps;
  private readonly far: PlanSteps;
  private readonly farLoad: Float64Array;
  private readonly farSolar: Float64Array;
  private readonly futures: Future[] = [];
  private readonly peaks: readonly PeakWatch[];
  private readonly blocks: BlockWatch;
  private readonly sun: SunSoFar;
  private readonly forecastFactor: Float64Array | undefined;
  private meanLoadKwh: number;
  private reachedKwh = 0;
  private reachableKwh = 0;
  private seen = 0;
  /** What the futures' values beyond the half day rest on. */
  private half = -1;
  private known = -1;
  private revision = -1;
  private floorAfter = Number.NaN;

  constructor(view: StrategyView, options: RollingOptions) {
    this.view = view;
    this.options = options;
    const { axis, tariff } = view;
    const plant = plantPerStep(view.plant, axis, view.service);
    this.plant = plant;
    const { horizonHours = 48, everyHours = 1, wearPerKwh = 0 } = options;
    this.every = Math.max(1, Math.round(everyHours / axis.stepHours));
    this.halves = halfDays(axis);
    this.ahead = Math.max(1, Math.round(horizonHours / 12));
    // A half day of a clock change may be longer, by no more than three hours.
    const room = (hours: number) => Math.ceil((hours + 3) / axis.stepHours);
    this.near = emptySteps(plant, tariff, room(24), wearPerKwh);
    this.far = emptySteps(plant, tariff, room(12 * this.ahead), wearPerKwh);
    this.farLoad = new Float64Array(this.far.intervals);
    this.farSolar = new Float64Array(this.far.intervals);
    this.peaks = tariff.terms
      .filter((term): term is DemandTerm => term.kind === 'demand' && term.steps === undefined)
      .map((term) => new PeakWatch(view, plant, term));
    this.blocks = new BlockWatch(view);
    this.sun = new SunSoFar(view);
    this.meanLoadKwh = FIRST_LOAD_KW * axis.stepHours;
    const { solarForecast } = options;
    if (solarForecast !== undefined) {
      const normal = seededNormal(solarForecast.seed);
      this.forecastFactor = Float64Array.from(axis.calendar.days, () =>
        Math.max(0, 1 + solarForecast.error * normal()),
      );
    }
  }

  plan(from: number, _socKwh: number, levels: Levels): number {
    const { axis } = this.view;
    const { plant, near, halves } = this;
    const half = halves.of[from]!;
    const { firstInterval, intervals } = axis.calendar.days[axis.calendar.day[from]!]!;
    const midnight = firstInterval + intervals;
    const to = Math.min(from + this.every, halves.first[half + 1]!);
    this.learn(from);
    this.look(from, half, midnight);

    const length = midnight - from;
    const start = from - firstInterval;
    this.fillPrices(near, from, midnight, from, 0);
    this.fillCaps(near, from, midnight);
    fillLimits(plant, near, from, midnight);
    const sky = this.forecastFactor === undefined ? this.sun.soFar(from, midnight) : undefined;
    const curves: ValueCurve[][] = Array.from({ length: to - from }, () => []);
    for (const future of this.futures) {
      const sunFactor = sky === undefined ? 1 : this.sun.factorOf(sky, future.sunnyDay);
      this.fillFlows(near, from, future.load, future.solar, start, length, sunFactor);
      this.fillBand(near, from, midnight);
      const plan = planBackward(near, {
        after: future.after,
        fromLowKwh: near.lowKwh[0]!,
        fromHighKwh: quantityAt(plant.capacityKwh, from),
        watchFirst: to - from,
        watch: (i, after) => curves[i]!.push(after),
      });
      releasePlan(plan, near.scratch);
    }
    for (let i = from; i < to; i++) this.act(i, from, curves[i - from]!, levels);
    return to;
  }

  /** Levels of one interval: where the mean value of a stored kWh crosses what it would cost or bring. */
  private act(i: number, from: number, curves: readonly ValueCurve[], levels: Levels): void {
    const { near } = this;
    const { wearPerKwh } = near;
    const bought = near.importPricePerKwh[i - from]!;
    const sold = near.exportPricePerKwh[i - from]!;
    const wanted = [
      bought / near.chargeEfficiency,
      sold / near.solarChargeEfficiency,
      (bought - wearPerKwh) * near.dischargeEfficiency,
      (sold - wearPerKwh) * near.dischargeEfficiency,
    ];
    const order = [0, 1, 2, 3].sort((a, b) => wanted[b]! - wanted[a]!);
    const found = new Float64Array(4);
    meanLevels(
      curves,
      Float64Array.from(order, (kind) => wanted[kind]!),
      found,
    );
    const level = (kind: number) => found[order.indexOf(kind)]!;
    levels.gridChargeToKwh[i] = level(0);
    levels.solarChargeToKwh[i] = level(1);
    levels.serveDownToKwh[i] = level(2);
    levels.exportDownToKwh[i] = level(3);
    let cap = Number.POSITIVE_INFINITY;
    for (const watch of this.peaks) cap = Math.min(cap, watch.capKw(i));
    levels.importCapKw[i] = cap;
  }

  private learn(until: number): void {
    const { loadKwh, axis } = this.view;
    const { reach } = this.plant;
    for (let i = this.seen; i < until; i++)
      this.meanLoadKwh += (loadKwh[i]! - this.meanLoadKwh) / Math.min(i + 1, 1000);
    if (typeof reach !== 'number') {
      const span = Math.round(REACH_HOURS / axis.stepHours);
      for (let i = this.seen; i < until; i++) {
        this.reachedKwh += Math.min(reach[i]!, loadKwh[i]!);
        this.reachableKwh += loadKwh[i]!;
        if (i < span) continue;
        this.reachedKwh -= Math.min(reach[i - span]!, loadKwh[i - span]!);
        this.reachableKwh -= loadKwh[i - span]!;
      }
    }
    this.seen = until;
    for (const watch of this.peaks) watch.update(until);
    this.sun.update(until);
    this.blocks.update(until, this.meanLoadKwh);
  }

  /**
   * Values beyond the half day, computed anew where something that they rest on has changed: a half day has begun,
   * prices have been published, a peak has risen, another block of energy is in sight, the floor has moved.
   */
  private look(from: number, half: number, midnight: number): void {
    const { view, plant, halves, far } = this;
    const { axis, tariff } = view;
    const end = Math.max(midnight, halves.first[Math.min(half + this.ahead, halves.first.length - 1)]!);
    const known = tariff.priceKnowledge === 'day-ahead' ? Math.min(end, publicationEnd(axis, from)) : end;
    const floorAfter = typeof plant.floorKwh === 'number' || midnight >= end ? 0 : plant.floorKwh[midnight]!;
    let revision = this.blocks.revision;
    for (const watch of this.peaks) revision += watch.revision;
    const today = axis.calendar.day[from]!;
    if (half !== this.half) this.gather(today);
    else if (known === this.known && revision === this.revision && floorAfter === this.floorAfter) {
      if (today > 0) return;
      // On the first day all that is known is the load so far.
      this.futures[0]!.load.fill(this.meanLoadKwh);
    }
    this.half = half;
    this.known = known;
    this.revision = revision;
    this.floorAfter = floorAfter;
    if (midnight >= end) return;
    const length = end - midnight;
    this.fillCaps(far, midnight, end);
    fillLimits(plant, far, midnight, end);
    for (const [s, future] of this.futures.entries()) {
      // Prices not published yet are those of a past day: of today, for the first future.
      if (s === 0 || known < end) this.fillPrices(far, midnight, end, known, Math.max(0, today - s));
      this.fillFuture(midnight, end, today, s, this.farLoad, this.farSolar);
      this.fillFlows(far, midnight, this.farLoad, this.farSolar, 0, length, 1);
      this.fillBand(far, midnight, end);
      const plan = planBackward(far, {
        fromLowKwh:
          typeof plant.floorKwh === 'number' ? plant.floorKwh : Math.min(far.lowKwh[0]!, plant.floorKwh[midnight - 1]!),
        fromHighKwh: quantityAt(plant.capacityKwh, midnight),
      });
      future.after = plan.start;
      releasePlan(plan, far.scratch);
    }
  }

  /** Takes up the futures of a day. */
  private gather(today: number): void {
    const { firstInterval, intervals } = this.view.axis.calendar.days[today]!;
    const count = Math.max(1, Math.min(this.options.scenarios ?? 7, today));
    this.futures.length = 0;
    for (let s = 0; s < count; s++) {
      const load = new Float64Array(intervals);
      const solar = new Float64Array(intervals);
      this.fillFuture(firstInterval, firstInterval + intervals, today, s, load, solar);
      this.futures.push({ load, solar, sunnyDay: Math.max(0, today - 1 - s), after: undefined });
    }
  }

  /** The future's load and sun: a like day's load under a recent day's sun. */
  private fillFuture(
    first: number,
    end: number,
    today: number,
    s: number,
    load: Float64Array,
    solar: Float64Array,
  ): void {
    const { axis, loadKwh, solarKwh } = this.view;
    if (today === 0) {
      load.fill(this.meanLoadKwh);
      solar.fill(0);
    } else
      eachDay(axis, first, end, (day, from, to) => {
        const like = likeDays(axis, day, today, s + 1);
        copyDay(axis, like[Math.min(s, like.length - 1)]!, day, from, to, loadKwh, load, from - first);
        copyDay(axis, Math.max(0, today - 1 - s), day, from, to, solarKwh, solar, from - first);
      });
    const { forecastFactor } = this;
    if (forecastFactor !== undefined)
      for (let i = first; i < end; i++) solar[i - first] = solarKwh[i]! * forecastFactor[axis.calendar.day[i]!]!;
  }

  /** Prices of `[from, end)`; from `known` on they are those of the past day `source`. */
  private fillPrices(steps: PlanSteps, from: number, end: number, known: number, source: number): void {
    const { axis, tariff } = this.view;
    const { importPricePerKwh, exportPricePerKwh } = steps;
    const until = steps === this.near ? end : Math.max(from, known);
    importPricePerKwh.set(tariff.importPricePerKwh.subarray(from, until));
    exportPricePerKwh.set(tariff.exportPricePerKwh.subarray(from, until));
    eachDay(axis, until, end, (day, first, last) => {
      copyDay(axis, source, day, first, last, tariff.importPricePerKwh, importPricePerKwh, first - from);
      copyDay(axis, source, day, first, last, tariff.exportPricePerKwh, exportPricePerKwh, first - from);
    });
    this.blocks.addTo(importPricePerKwh, from, end);
  }

  /** What a future's load and sun leave for the battery, from interval `from` on; `at` is where they stand in it. */
  private fillFlows(
    steps: PlanSteps,
    from: number,
    load: Float64Array,
    solar: Float64Array,
    at: number,
    length: number,
    sunFactor: number,
  ): void {
    const { plant } = this;
    steps.intervals = length;
    steps.stepsToEnd = length;
    let { reach } = plant;
    // A metered reach is not known ahead: its share of the load over the last weeks stands for it.
    if (typeof reach !== 'number') reach = this.reachableKwh > 0 ? this.reachedKwh / this.reachableKwh : 0.5;
    layFlows(plant, reach, load, solar, at, at + length, flowsOf(steps), sunFactor, from);
    steps.plain = isPlain(steps);
  }

  private fillBand(steps: PlanSteps, from: number, end: number): void {
    const { capacityKwh, floorKwh } = this.plant;
    const { lowKwh, highKwh } = steps;
    copyQuantity(capacityKwh, from, end, highKwh);
    copyQuantity(floorKwh, from, end, lowKwh);
    if (typeof floorKwh === 'number' && typeof capacityKwh === 'number') return;
    let lowest = quantityAt(capacityKwh, from);
    for (let k = 0; k < end - from; k++) if (lowKwh[k]! < lowest) lowest = lowKwh[k]!;
    steps.initialKwh = lowest;
    makeReachable(steps);
  }

  private fillCaps(steps: PlanSteps, from: number, end: number): void {
    if (this.peaks.length === 0) return;
    const cap = steps.importCapKwh!;
    const over = steps.overCapPerKwh!;
    const { stepHours } = this.view.axis;
    cap.fill(Number.POSITIVE_INFINITY, 0, end - from);
    over.fill(0, 0, end - from);
    for (const watch of this.peaks)
      for (let i = from; i < end; i++) {
        const kwh = watch.capKw(i) * stepHours;
        if (kwh >= cap[i - from]!) continue;
        cap[i - from] = kwh;
        over[i - from] = watch.pricePerKw(i) / stepHours;
      }
  }
}
