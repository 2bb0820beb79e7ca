import type { PlantPerStep } from '../../plant/index.ts';
import { copyQuantity, layFlows, quantityAt } from '../../plant/inside.ts';
import type { DemandTerm } from '../../tariff/index.ts';
import { planBackward, releasePlan } from '../optimum/backward.ts';
import type { StrategyView } from '../strategy.ts';
import { emptySteps, fillLimits, flowsOf } from './plan-steps.ts';

/** Past days over which a cap is judged, and days from one judgement to the next. */
const DAYS_JUDGED = 28;
const DAYS_BETWEEN = 7;
/** A cap is sought to this share of the home's peak. */
const FINE = 1e-3;
const GOLDEN = (Math.sqrt(5) - 1) / 2;

/**
 * The import that a demand charge calls to hold: what would have been best over the last weeks, or what will be billed
 * in any case (the peak so far, a minimum, a ratchet), whichever is higher.
 */
export class PeakWatch {
  private readonly view: StrategyView;
  private readonly plant: PlantPerStep;
  private readonly term: DemandTerm;
  /** Cap of each group, kW. */
  private readonly caps: Float64Array;
  /** Highest block so far of each group, kW. */
  private readonly peaks: Float64Array;
  /** On the first day nothing but the peak so far is known: the battery sets no peak of its own. */
  private target = 0;
  private seen = 0;
  private block = -1;
  private blockGroup = -1;
  private blockKwh = 0;
  private judgedFor = -1;
  private judgedOn = -1;
  /** Grows whenever a cap changes. */
  revision = 0;

  constructor(view: StrategyView, plant: PlantPerStep, term: DemandTerm) {
    this.view = view;
    this.plant = plant;
    this.term = term;
    this.caps = new Float64Array(term.groups);
    this.peaks = new Float64Array(term.groups);
    this.settle();
  }

  capKw(i: number): number {
    const g = this.term.group[i]!;
    return g < 0 ? Number.POSITIVE_INFINITY : this.caps[g]!;
  }

  pricePerKw(i: number): number {
    const g = this.term.group[i]!;
    return g < 0 ? 0 : this.term.pricePerKw[g]! * this.term.scale;
  }

  /** Takes the run up to interval `from` into account. */
  update(from: number): void {
    const risen = this.watch(from);
    const judged = this.judge(from);
    if (!risen && !judged) return;
    this.revision++;
    this.settle();
  }

  private settle(): void {
    for (let g = 0; g < this.caps.length; g++)
      this.caps[g] = Math.max(this.target, this.peaks[g]!, this.billedInAnyCaseKw(g));
  }

  /** Whether a peak rose above its cap. */
  private watch(from: number): boolean {
    const { term, view, peaks } = this;
    const { stepHours } = view.axis;
    let risen = false;
    for (let i = this.seen; i < from; i++) {
      const block = Math.floor((i - term.phaseSteps) / term.averagingSteps);
      const g = term.group[i]!;
      if (block !== this.block || g !== this.blockGroup) {
        this.block = block;
        this.blockGroup = g;
        this.blockKwh = 0;
      }
      if (g < 0) continue;
      this.blockKwh += view.flows.importKwh[i]!;
      const kw = this.blockKwh / (term.averagingSteps * stepHours);
      if (kw <= peaks[g]!) continue;
      peaks[g] = kw;
      if (kw > this.caps[g]!) risen = true;
    }
    this.seen = from;
    return risen;
  }

  /** Looks for the best target anew: weekly, daily in the first week, and when a group begins. */
  private judge(from: number): boolean {
    const { axis } = this.view;
    const { group } = this.term;
    const day = axis.calendar.day[from]!;
    if (day === 0 || day === this.judgedOn) return false;
    let next = from;
    while (next < group.length && group[next]! < 0) next++;
    const g = next < group.length ? group[next]! : this.judgedFor;
    if (g < 0) return false;
    if (g === this.judgedFor && day - this.judgedOn < (day <= DAYS_BETWEEN ? 1 : DAYS_BETWEEN)) return false;
    this.judgedFor = g;
    this.judgedOn = day;
    const before = this.target;
    this.target = this.bestOver(from, day, g);
    return this.target !== before;
  }

  private billedInAnyCaseKw(g: number): number {
    const { minimumKw, ratchet, scale } = this.term;
    let kw = minimumKw[g]! / scale;
    if (ratchet !== undefined) {
      let highest = ratchet.historyKw[g]! / scale;
      for (const earlier of ratchet.groups[g]!) highest = Math.max(highest, this.peaks[earlier]!);
      kw = Math.max(kw, ratchet.share * highest);
    }
    return kw;
  }

  /** The cap of least cost over the last four weeks, as if they were one group at the price of group `g`, kW. */
  private bestOver(from: number, day: number, g: number): number {
    const { view, plant, term } = this;
    const { axis, loadKwh, solarKwh, tariff } = view;
    const first = axis.calendar.days[Math.max(0, day - DAYS_JUDGED)]!.firstInterval;
    const n = from - first;
    const steps = emptySteps(plant, tariff, n, 0);
    const cap = steps.importCapKwh!;
    const over = steps.overCapPerKwh!;
    fillLimits(plant, steps, first, from);
    layFlows(plant, plant.reach, loadKwh, solarKwh, first, from, flowsOf(steps));
    steps.importPricePerKwh.set(tariff.importPricePerKwh.subarray(first, from));
    steps.exportPricePerKwh.set(tariff.exportPricePerKwh.subarray(first, from));
    const pricePerKwh = (term.pricePerKw[g]! * term.scale) / axis.stepHours;
    let peakKwh = 0;
    for (let i = first; i < from; i++) {
      if (term.group[i]! < 0) continue;
      over[i - first] = pricePerKwh;
      const net = steps.netLoadKwh[i - first]!;
      if (net > peakKwh) peakKwh = net;
    }
    if (peakKwh === 0) return this.target;
    let floor = 0;
    for (let i = first; i < from; i++) floor = Math.max(floor, quantityAt(plant.floorKwh, i));
    steps.floorKwh.fill(floor);
    steps.initialKwh = floor;
    const costOf = (kwh: number) => {
      for (let k = 0; k < n; k++) if (over[k]! > 0) cap[k] = kwh;
      steps.lowKwh.fill(floor);
      copyQuantity(plant.capacityKwh, first, from, steps.highKwh);
      const plan = planBackward(steps);
      releasePlan(plan, steps.scratch);
      return plan.bound + pricePerKwh * kwh;
    };
    // The cost is convex in the cap: golden sections close in on the least.
    let low = 0;
    let high = peakKwh;
    let left = high - GOLDEN * (high - low);
    let right = low + GOLDEN * (high - low);
    let atLeft = costOf(left);
    let atRight = costOf(right);
    while (high - low > FINE * peakKwh) {
      if (atLeft <= atRight) {
        high = right;
        right = left;
        atRight = atLeft;
        left = high - GOLDEN * (high - low);
        atLeft = costOf(left);
      } else {
        low = left;
        left = right;
        atLeft = atRight;
        right = low + GOLDEN * (high - low);
        atRight = costOf(right);
      }
    }
    return (atLeft <= atRight ? left : right) / axis.stepHours;
  }
}
