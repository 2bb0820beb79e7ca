import type { Levels } from '../../plant/index.ts';
import type { DemandTerm, TierTerm } from '../../tariff/index.ts';
import { copyDay, lastDays, likeDays } from '../forecast/like-days.ts';
import { makeReachable, planBackward, releasePlan, type ValueCurve } from '../optimum/backward.ts';
import { type PeakCharge, solvePeaks } from '../optimum/demand.ts';
import type { StepProblem } from '../optimum/problem.ts';
import { publishedUntil } from '../run.ts';
import type { Planner, Strategy, StrategyView } from '../strategy.ts';
import { meanLevels } from './mean-level.ts';

/** How {@link rolling} looks ahead. */
export interface RollingOptions {
  /** Hours from one plan to the next, 0 < h ≤ 24; at least one interval. @defaultValue 1 */
  readonly everyHours?: number;
  /** Hours that a plan looks ahead. @defaultValue 48 */
  readonly horizonHours?: number;
  /** Past days taken as futures. @defaultValue 7 */
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

/**
 * Plans again every hour, from the past alone: several past days, taken as futures, each give the value of a stored
 * kWh over the next two days by the same recursion as the optimum; the battery acts on their average. So it hedges: what
 * one future would spend and another keep is weighed. Nothing in it is tuned to a home or a year.
 *
 * @see docs/concepts/forecast.md
 */
export function rolling(options: RollingOptions = {}): Strategy {
  return {
    name: `rolling${options.solarForecast === undefined ? '' : '-forecast'}${(options.wearPerKwh ?? 0) > 0 ? '-wear' : ''}`,
    knowledge: options.solarForecast === undefined ? 'causal' : 'foresight',
    yardstick: true,
    begin: (view) => new RollingPlanner(view, options),
  };
}

class RollingPlanner implements Planner {
  private readonly view: StrategyView;
  private readonly options: RollingOptions;
  private readonly horizon: number;
  private readonly every: number;
  private readonly load: Float64Array;
  private readonly solar: Float64Array;
  private readonly steps: Mutable<StepProblem>;
  private readonly caps: PeakWatch[];
  private readonly tiers: readonly TierTerm[];
  private readonly forecastFactor: Float64Array;
  private meanLoadKwh: number;
  private seen = 0;

  constructor(view: StrategyView, options: RollingOptions) {
    this.view = view;
    this.options = options;
    const { axis, tariff } = view;
    const perHour = 1 / axis.stepHours;
    this.horizon = Math.max(1, Math.round((options.horizonHours ?? 48) * perHour));
    this.every = Math.max(1, Math.round((options.everyHours ?? 1) * perHour));
    this.load = new Float64Array(this.horizon);
    this.solar = new Float64Array(this.horizon);
    this.meanLoadKwh = FIRST_LOAD_KW * axis.stepHours;
    this.steps = emptySteps(view, this.horizon, options.wearPerKwh ?? 0);
    this.caps = tariff.terms
      .filter((term): term is DemandTerm => term.kind === 'demand' && term.steps === undefined)
      .map((term) => new PeakWatch(view, term));
    this.tiers = tariff.terms.filter((term): term is TierTerm => term.kind === 'tier' && term.flow === 'import');
    this.forecastFactor = new Float64Array(axis.calendar.days.length);
    if (options.solarForecast !== undefined) {
      const normal = seededNormal(options.solarForecast.seed);
      for (let d = 0; d < this.forecastFactor.length; d++)
        this.forecastFactor[d] = Math.max(0, 1 + options.solarForecast.error * normal());
    }
  }

  plan(from: number, _socKwh: number, levels: Levels): number {
    const { axis, plant, tariff } = this.view;
    const to = Math.min(axis.intervals, from + this.every);
    const end = Math.min(axis.intervals, from + this.horizon);
    const ahead = to - from;
    this.learn(from);
    const importPrice = this.steps.importPricePerKwh;
    const exportPrice = this.steps.exportPricePerKwh;
    const curves: ValueCurve[][] = Array.from({ length: ahead }, () => []);
    this.setCaps(from, end);
    const known = tariff.priceKnowledge === 'day-ahead' ? Math.min(end, publishedUntil(axis, from)) : end;
    const today = axis.calendar.day[from]!;
    const count = this.options.scenarios ?? 7;
    for (let s = 0; s < Math.max(1, Math.min(count, today)); s++) {
      this.fillPrices(from, known, end, today, s);
      this.fillScenario(from, end, today, s);
      const { steps } = this;
      this.fillBand(from, end);
      const plan = planBackward(steps, {
        fromLowKwh: steps.lowKwh[0]!,
        fromHighKwh: plant.capacityKwh,
        watchFirst: ahead,
        watch: (i, after) => curves[i]!.push(after),
      });
      releasePlan(plan);
    }
    const prices = new Float64Array(4);
    const found = new Float64Array(4);
    const wear = this.options.wearPerKwh ?? 0;
    const solarEfficiency = this.steps.solarChargeEfficiency;
    for (let i = from; i < to; i++) {
      const bought = importPrice[i - from]!;
      const sold = exportPrice[i - from]!;
      const wanted = [
        bought / plant.chargeEfficiency,
        sold / solarEfficiency,
        (bought - wear) * plant.dischargeEfficiency,
        (sold - wear) * plant.dischargeEfficiency,
      ];
      const order = [0, 1, 2, 3].sort((a, b) => wanted[b]! - wanted[a]!);
      for (let k = 0; k < 4; k++) prices[k] = wanted[order[k]!]!;
      meanLevels(curves[i - from]!, prices, found);
      const level = (kind: number) => found[order.indexOf(kind)]!;
      levels.gridChargeToKwh[i] = level(0);
      levels.solarChargeToKwh[i] = level(1);
      levels.serveDownToKwh[i] = level(2);
      levels.exportDownToKwh[i] = level(3);
      levels.importCapKw[i] = this.capKw(i);
    }
    return to;
  }

  private learn(until: number): void {
    const { loadKwh } = this.view;
    for (let i = this.seen; i < until; i++)
      this.meanLoadKwh += (loadKwh[i]! - this.meanLoadKwh) / Math.min(i + 1, 1000);
    this.seen = until;
  }

  /** Prices from `from` on; those not published yet are taken from the scenario's past day. */
  private fillPrices(from: number, known: number, end: number, today: number, s: number): void {
    const { axis, tariff } = this.view;
    const importPrice = this.steps.importPricePerKwh;
    const exportPrice = this.steps.exportPricePerKwh;
    if (s > 0 && known === end) return;
    importPrice.set(tariff.importPricePerKwh.subarray(from, known));
    exportPrice.set(tariff.exportPricePerKwh.subarray(from, known));
    if (known < end) {
      const source = lastDays(today + 1, 8)[Math.min(s, today)]!;
      eachDay(axis, known, end, (day, first, last) => {
        copyDay(axis, source, day, first, last, tariff.importPricePerKwh, importPrice, first - from);
        copyDay(axis, source, day, first, last, tariff.exportPricePerKwh, exportPrice, first - from);
      });
    }
    for (const term of this.tiers) this.addBlocks(term, from, end, importPrice);
  }

  /** Blocks: the price of the block that the group is on its way to. */
  private addBlocks(term: TierTerm, from: number, end: number, prices: Float64Array): void {
    const { group } = term;
    const { importKwh } = this.view.flows;
    for (let i = from; i < end; ) {
      const g = group[i]!;
      let last = i;
      while (last < end && group[last] === g) last++;
      if (g >= 0) {
        let first = i;
        let used = 0;
        let size = 0;
        for (let j = 0; j < group.length; j++) {
          if (group[j] !== g) continue;
          if (size === 0) first = j;
          size++;
          if (j < from) used += importKwh[j]!;
        }
        const passed = Math.max(0, from - first);
        const expected = passed > 0.1 * size ? (used / passed) * size : this.meanLoadKwh * size;
        const bounds = term.upToKwh[g]!;
        let k = 0;
        while (k < bounds.length - 1 && expected > bounds[k]!) k++;
        for (let j = i; j < last; j++) prices[j - from] = prices[j - from]! + term.adderPerKwh[g]![k]!;
      }
      i = last;
    }
  }

  /** The scenario's net load: a like day's load under a recent day's sun. */
  private fillScenario(from: number, end: number, today: number, s: number): void {
    const { axis, loadKwh, solarKwh, plant } = this.view;
    const { load, solar, steps, options } = this;
    const length = end - from;
    if (today === 0) {
      load.fill(this.meanLoadKwh);
      solar.fill(0);
    } else
      eachDay(axis, from, end, (day, first, last) => {
        const like = likeDays(axis, day, today, s + 1);
        copyDay(axis, like[Math.min(s, like.length - 1)]!, day, first, last, loadKwh, load, first - from);
        const sunny = Math.max(0, today - 1 - s);
        copyDay(axis, sunny, day, first, last, solarKwh, solar, first - from);
      });
    if (options.solarForecast !== undefined)
      for (let i = from; i < end; i++) solar[i - from] = solarKwh[i]! * this.forecastFactor[axis.calendar.day[i]!]!;
    const standbyKwh = (plant.standbyW / 1000) * axis.stepHours;
    const net = steps.netLoadKwh;
    steps.intervals = length;
    steps.stepsToEnd = length;
    if (plant.coupling === 'dc') {
      const most = plant.inverterKw * axis.stepHours;
      const limit = plant.dischargeLimitKw * axis.stepHours;
      for (let i = 0; i < length; i++) {
        const through = Math.min(solar[i]!, most);
        net[i] = load[i]! + standbyKwh - through;
        steps.clippedKwh![i] = solar[i]! - through;
        steps.dischargeLimitKwh[i] = Math.min(limit, most - through);
      }
    } else for (let i = 0; i < length; i++) net[i] = load[i]! + standbyKwh - solar[i]!;
    const served = steps.servedLoadLimitKwh;
    if (served !== undefined) {
      const share = typeof plant.reach === 'number' ? plant.reach : this.reachedShare(from);
      for (let i = 0; i < length; i++) served[i] = share * load[i]! + standbyKwh;
    }
  }

  /** Share of the load that the reached circuits drew over the last four weeks. */
  private reachedShare(from: number): number {
    const { axis, plant, loadKwh } = this.view;
    const reach = plant.reach as Float64Array;
    let reached = 0;
    let all = 0;
    for (let i = Math.max(0, from - Math.round(672 / axis.stepHours)); i < from; i++) {
      reached += Math.min(reach[i]!, loadKwh[i]!);
      all += loadKwh[i]!;
    }
    return all > 0 ? reached / all : 0.5;
  }

  private fillBand(from: number, end: number): void {
    const { plant } = this.view;
    const { steps } = this;
    const { floorKwh, lowKwh, highKwh } = steps;
    const length = end - from;
    highKwh.fill(plant.capacityKwh, 0, length);
    if (typeof plant.floorKwh === 'number') {
      lowKwh.fill(plant.floorKwh, 0, length);
      return;
    }
    let lowest = plant.capacityKwh;
    for (let i = from; i < end; i++) {
      floorKwh[i - from] = plant.floorKwh[i]!;
      lowKwh[i - from] = plant.floorKwh[i]!;
      if (plant.floorKwh[i]! < lowest) lowest = plant.floorKwh[i]!;
    }
    steps.initialKwh = lowest;
    makeReachable(steps);
  }

  private setCaps(from: number, end: number): void {
    if (this.caps.length === 0) return;
    const cap = this.steps.importCapKwh!;
    const over = this.steps.overCapPerKwh!;
    const { stepHours } = this.view.axis;
    cap.fill(Number.POSITIVE_INFINITY);
    over.fill(0);
    for (const watch of this.caps) {
      watch.update(from);
      for (let i = from; i < end; i++) {
        const kw = watch.capKw(i);
        if (kw * stepHours >= cap[i - from]!) continue;
        cap[i - from] = kw * stepHours;
        over[i - from] = watch.pricePerKw(i) / stepHours;
      }
    }
  }

  private capKw(i: number): number {
    let cap = Number.POSITIVE_INFINITY;
    for (const watch of this.caps) cap = Math.min(cap, watch.capKw(i));
    return cap;
  }
}

/** The cap that a demand charge calls for: what would have been best over the last weeks, or the peak so far. */
class PeakWatch {
  private readonly view: StrategyView;
  private readonly term: DemandTerm;
  private group = -2;
  private target = Number.POSITIVE_INFINITY;
  private reached = 0;
  private looked = 0;
  private plannedAt = -1;

  constructor(view: StrategyView, term: DemandTerm) {
    this.view = view;
    this.term = term;
  }

  capKw(i: number): number {
    return this.term.group[i]! < 0 ? Number.POSITIVE_INFINITY : Math.max(this.target, this.reached);
  }

  pricePerKw(i: number): number {
    const g = this.term.group[i]!;
    return g < 0 ? 0 : this.term.pricePerKw[g]! * this.term.scale;
  }

  /** Takes the past up to `from` into account. */
  update(from: number): void {
    const { axis, flows } = this.view;
    const { group } = this.term;
    for (let i = this.looked; i < from; i++) {
      if (group[i]! < 0) continue;
      if (group[i] !== this.group) {
        this.group = group[i]!;
        this.reached = 0;
      }
      this.reached = Math.max(this.reached, flows.importKwh[i]! / axis.stepHours);
    }
    this.looked = from;
    let next = from;
    while (next < group.length && group[next]! < 0) next++;
    if (next < group.length && group[next] !== this.group) {
      this.group = group[next]!;
      this.reached = 0;
      this.plannedAt = -1;
    }
    const day = axis.calendar.day[from]!;
    if (day > 0 && (this.plannedAt < 0 || day - this.plannedAt >= 7)) {
      this.plannedAt = day;
      this.target = this.bestOver(from, day);
    }
  }

  /** The cap that would have been best over the last four weeks. */
  private bestOver(from: number, day: number): number {
    const { view, term } = this;
    const { axis, loadKwh, solarKwh, plant } = view;
    const first = axis.calendar.days[Math.max(0, day - 28)]!.firstInterval;
    const n = from - first;
    const steps = emptySteps(view, n, 0);
    const standbyKwh = (plant.standbyW / 1000) * axis.stepHours;
    let loaded = 0;
    const members = new Int32Array(n).fill(-1);
    for (let i = first; i < from; i++) {
      steps.netLoadKwh[i - first] = loadKwh[i]! + standbyKwh - solarKwh[i]!;
      steps.importPricePerKwh[i - first] = view.tariff.importPricePerKwh[i]!;
      steps.exportPricePerKwh[i - first] = view.tariff.exportPricePerKwh[i]!;
      if (term.group[i]! >= 0) {
        members[i - first] = 0;
        loaded++;
      }
    }
    if (loaded === 0) return this.target;
    if (steps.servedLoadLimitKwh !== undefined)
      for (let i = first; i < from; i++) {
        const { reach } = plant;
        const reached = typeof reach === 'number' ? reach * loadKwh[i]! : Math.min(reach[i]!, loadKwh[i]!);
        steps.servedLoadLimitKwh[i - first] = reached + standbyKwh;
      }
    const floor =
      typeof plant.floorKwh === 'number' ? plant.floorKwh : Math.max(...plant.floorKwh.subarray(first, from));
    steps.lowKwh.fill(floor);
    steps.floorKwh.fill(floor);
    steps.highKwh.fill(plant.capacityKwh);
    steps.initialKwh = floor;
    const charge: PeakCharge = {
      group: members,
      pricePerKwh: Float64Array.of((term.pricePerKw[Math.max(0, this.group)]! * term.scale) / axis.stepHours),
      leastKwh: Float64Array.of(0),
      averagingSteps: 1,
      phaseSteps: 0,
    };
    const { capKwh } = solvePeaks({ ...steps, importCapKwh: undefined, overCapPerKwh: undefined }, [charge]);
    let cap = Number.POSITIVE_INFINITY;
    for (let i = 0; i < n; i++) if (members[i] === 0 && capKwh[i]! < cap) cap = capKwh[i]!;
    return cap / axis.stepHours;
  }
}

type Mutable<T> = { -readonly [K in keyof T]: T[K] };

/** A dispatch problem of `length` steps with a home's limits, its series to be filled in. */
function emptySteps(view: StrategyView, length: number, wearPerKwh: number): Mutable<StepProblem> {
  const { axis, plant, service, tariff } = view;
  const h = axis.stepHours;
  const make = (value = 0) => new Float64Array(length).fill(value);
  const reached = typeof plant.reach !== 'number' || plant.reach < 1;
  const capped = tariff.terms.some((term) => term.kind === 'demand' && term.steps === undefined);
  const dc = plant.coupling === 'dc';
  const solarChargeEfficiency = dc ? plant.solarChargeEfficiency : plant.chargeEfficiency;
  const most = plant.capacityKwh;
  const open = service.importLimitKw === Number.POSITIVE_INFINITY && service.exportLimitKw === Number.POSITIVE_INFINITY;
  let dearest = 1e-6 + wearPerKwh;
  for (const price of tariff.importPricePerKwh) if (Math.abs(price) > dearest) dearest = Math.abs(price);
  return {
    intervals: length,
    plain: open && plant.gridCharging && plant.batteryExport && !dc && !reached && !capped,
    netLoadKwh: make(),
    importPricePerKwh: make(),
    exportPricePerKwh: make(),
    chargeLimitKwh: make(Math.min(plant.chargeLimitKw * h, (1.000001 * most) / plant.chargeEfficiency)),
    dischargeLimitKwh: make(Math.min(plant.dischargeLimitKw * h, 1.000001 * most)),
    lowKwh: make(),
    highKwh: make(),
    floorKwh: make(typeof plant.floorKwh === 'number' ? plant.floorKwh : 0),
    initialKwh: 0,
    chargeEfficiency: plant.chargeEfficiency,
    dischargeEfficiency: plant.dischargeEfficiency,
    solarChargeEfficiency,
    acPerCharged: 1 / plant.chargeEfficiency,
    acPerSolarCharged: 1 / solarChargeEfficiency,
    storedPerAc: 1 / plant.dischargeEfficiency,
    decay: 1 - (1 - plant.decayPerHour) ** h,
    gridCharging: plant.gridCharging,
    batteryExport: plant.batteryExport,
    curtailment: false,
    clippedKwh: dc ? make() : undefined,
    servedLoadLimitKwh: reached ? make() : undefined,
    importLimitKwh: service.importLimitKw * h,
    exportLimitKwh: service.exportLimitKw * h,
    wearPerKwh,
    finalValuePerKwh: 0,
    unservedPerKwh: 1e6 * dearest,
    unservedRisePerStep: 0,
    stepsToEnd: length,
    importCapKwh: capped ? make(Number.POSITIVE_INFINITY) : undefined,
    overCapPerKwh: capped ? make() : undefined,
  };
}

/** Calls back for each local day's part of `[from, end)`. */
function eachDay(
  axis: StrategyView['axis'],
  from: number,
  end: number,
  visit: (day: number, first: number, last: number) => void,
): void {
  const { day, days } = axis.calendar;
  for (let i = from; i < end; ) {
    const d = day[i]!;
    const last = Math.min(end, days[d]!.firstInterval + days[d]!.intervals);
    visit(d, i, last);
    i = last;
  }
}

/** Standard normal numbers from a seed (mulberry32, Box–Muller). */
function seededNormal(seed: number): () => number {
  let state = seed | 0;
  const uniform = () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return (((t ^ (t >>> 14)) >>> 0) + 0.5) / 4294967296;
  };
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}
