import { check, number, optional } from '../input/door.ts';
import { type Flows, type Levels, makeFlows, makeLevels, type PlantOnAxis, type PlantPerStep } from '../plant/index.ts';
import { cutQuantity, executeLevels, layFlows, makeStepFlows, plantPerStep, quantityAt } from '../plant/inside.ts';
import type { CompiledTariff } from '../tariff/index.ts';
import { enter } from './identity.ts';
import type { Planner, Strategy, StrategyView } from './strategy.ts';

/** Options of {@link peakShave}. */
export interface PeakShaveOptions {
  /** Import to hold, kW, mean of an interval, ≥ 0. Left out, it is learned from past billing periods. */
  readonly targetKw?: number;
}

/** Days of a past period whose highest import is looked at when a target is learned. */
const DAYS_LOOKED_AT = 5;

/** Halvings of the search for a target: to 1/4096 of the battery's power. */
const HALVINGS = 12;

/**
 * Holds grid import under a target, refilling whenever there is room under it.
 *
 * A learned target is the lowest import that the full battery could have held on the worst days of the last complete
 * billing period. Within a period it is raised to the peak so far, hour by hour, because that much is paid for already; in the
 * first period that peak is all it knows. Where the tariff charges for demand only in some intervals, only those are held.
 *
 * @throws InputError where `targetKw` is negative or not a number
 * @see docs/concepts/dispatch.md, "peak-shave"
 */
export function peakShave(options: PeakShaveOptions = {}): Strategy {
  check(options, { targetKw: optional(number({ least: 0 })) });
  const { targetKw } = options;
  return enter({
    name: 'peak-shave',
    knowledge: 'causal',
    begin: (view: StrategyView) => new PeakShavePlanner(view, targetKw),
  });
}

/** 1 in the intervals whose import counts towards a demand charge; in all where a tariff has none. */
export function countedForDemand({ terms, axis }: CompiledTariff): Uint8Array {
  const groups = terms.flatMap((term) => (term.kind === 'demand' ? [term.group] : []));
  const counts = new Uint8Array(axis.intervals);
  if (groups.length === 0) counts.fill(1);
  for (const group of groups) for (let i = 0; i < group.length; i++) if (group[i]! >= 0) counts[i] = 1;
  return counts;
}

class PeakShavePlanner implements Planner {
  private readonly view: StrategyView;
  private readonly givenKw: number | undefined;
  /** 1 where import counts towards a demand charge. */
  private readonly counts: Uint8Array;
  private readonly plant: PlantPerStep;
  /** The loop's own arrays, for trying targets on past days. */
  private tried: { readonly levels: Levels; readonly flows: Flows } | undefined;
  private learnedKw = 0;
  private period = -1;
  private watched = 0;
  /** Whether the levels from here on say to fill the battery. */
  private fills = false;
  /** Highest counted import of this period so far, kW. */
  private peakKw = 0;

  constructor(view: StrategyView, givenKw: number | undefined) {
    this.view = view;
    this.givenKw = givenKw;
    this.plant = plantPerStep(view.plant, view.axis, view.service);
    this.counts = countedForDemand(view.tariff);
  }

  plan(from: number, _socKwh: number, levels: Levels): number {
    const { axis, tariff } = this.view;
    // Load is carried for the cap alone.
    if (from === 0) levels.serveDownToKwh.fill(Number.POSITIVE_INFINITY);
    if (this.givenKw !== undefined) {
      this.fill(from, axis.intervals, this.givenKw, levels);
      return axis.intervals;
    }
    this.watch(from);
    // An hour at a time: a peak of the morning is paid for, and the evening need not stay under it.
    const steps = Math.max(1, Math.round(1 / axis.stepHours));
    const to = Math.min(from + steps, tariff.periods[this.period]!.end, axis.intervals);
    const targetKw = Math.max(this.learnedKw, this.peakKw);
    // Before anything is known there is no target to hold, and buying could set a peak of its own.
    if (targetKw > 0) this.fill(from, to, targetKw, levels);
    else if (this.fills) {
      levels.gridChargeToKwh.fill(Number.NEGATIVE_INFINITY, from);
      this.fills = false;
    }
    return to;
  }

  /** Takes what was imported since the last block into the peak so far, and learns from each period that ended. */
  private watch(until: number): void {
    const { axis, tariff, flows } = this.view;
    for (let i = this.watched; i < until; i++) {
      const kw = flows.importKwh[i]! / axis.stepHours;
      if (this.counts[i] === 1 && kw > this.peakKw) this.peakKw = kw;
    }
    this.watched = until;
    const period = tariff.period[until]!;
    if (period === this.period) return;
    if (this.period >= 0) this.learnedKw = this.lowestHeldKw(this.period);
    this.period = period;
    this.peakKw = 0;
  }

  private fill(from: number, to: number, targetKw: number, levels: Levels): void {
    if (!this.fills) levels.gridChargeToKwh.fill(Number.POSITIVE_INFINITY, from);
    this.fills = true;
    const { counts } = this;
    const { importCapKw } = levels;
    for (let i = from; i < to; i++) importCapKw[i] = counts[i] === 1 ? targetKw : Number.POSITIVE_INFINITY;
  }

  /** The lowest import that a battery, full at midnight, could have held on the period's worst days, kW. */
  private lowestHeldKw(period: number): number {
    const { axis, tariff } = this.view;
    const { first, end } = tariff.periods[period]!;
    const past = this.layPast(first, end);
    const worst = this.worstDays(past, first, end);
    const highestKw = worst[0]?.kw ?? 0;
    let mostKwh = 0;
    if (typeof past.dischargeLimitKwh === 'number') mostKwh = past.dischargeLimitKwh;
    else for (const limitKwh of past.dischargeLimitKwh) mostKwh = Math.max(mostKwh, limitKwh);
    const lowestKw = Math.max(0, highestKw - mostKwh / axis.stepHours);
    // What a day holds it holds with more import too. So a day that holds what those before it need changes nothing, and
    // one that doesn't needs no look below that.
    let heldKw = -1;
    for (const { start, stop } of worst) {
      const day = cutPlant(past, start - first, stop - first);
      if (heldKw >= 0 && this.holds(day, start, stop, heldKw)) continue;
      let low = lowestKw;
      let high = highestKw;
      for (let k = 0; k < HALVINGS; k++) {
        const middle = (low + high) / 2;
        if (middle > heldKw && this.holds(day, start, stop, middle)) high = middle;
        else low = middle;
      }
      heldKw = high;
    }
    return Math.max(0, heldKw);
  }

  /** The plant over a period that has passed, its first entry that of interval `first`. */
  private layPast(first: number, end: number): PastPlant {
    const { loadKwh, solarKwh } = this.view;
    const { plant } = this;
    const flows = makeStepFlows(plant, end - first);
    layFlows(plant, plant.reach, loadKwh, solarKwh, first, end, flows);
    return {
      ...plant,
      capacityKwh: cutQuantity(plant.capacityKwh, first, end),
      floorKwh: cutQuantity(plant.floorKwh, first, end),
      chargeLimitKwh: cutQuantity(plant.chargeLimitKwh, first, end),
      ...flows,
      // Under DC coupling it was laid for the period; else it is the plant's own, of the whole axis.
      dischargeLimitKwh:
        flows.clippedKwh === undefined ? cutQuantity(plant.dischargeLimitKwh, first, end) : flows.dischargeLimitKwh,
    };
  }

  /** The days of a period with the highest net load where it counts, the highest first. */
  private worstDays({ netKwh }: PastPlant, first: number, end: number): { start: number; stop: number; kw: number }[] {
    const { day, days } = this.view.axis.calendar;
    const peaks: { start: number; stop: number; kw: number }[] = [];
    for (let d = day[first]!; d <= day[end - 1]!; d++) {
      const start = Math.max(days[d]!.firstInterval, first);
      const stop = Math.min(days[d]!.firstInterval + days[d]!.intervals, end);
      let kwh = 0;
      for (let i = start; i < stop; i++) if (this.counts[i] === 1 && netKwh[i - first]! > kwh) kwh = netKwh[i - first]!;
      peaks.push({ start, stop, kw: kwh / this.view.axis.stepHours });
    }
    peaks.sort((a, b) => b.kw - a.kw || a.start - b.start);
    return peaks.slice(0, DAYS_LOOKED_AT);
  }

  /** Whether the plant's loop, told to hold the target over `[start, stop)` from a full battery, holds it. */
  private holds(day: PastPlant, start: number, stop: number, targetKw: number): boolean {
    const length = stop - start;
    if (this.tried === undefined || this.tried.flows.socKwh.length < length) {
      this.tried = { levels: makeLevels(length), flows: makeFlows(length) };
      this.tried.levels.serveDownToKwh.fill(Number.POSITIVE_INFINITY);
      this.tried.levels.gridChargeToKwh.fill(Number.POSITIVE_INFINITY);
    }
    const { levels, flows } = this.tried;
    for (let k = 0; k < length; k++)
      levels.importCapKw[k] = this.counts[start + k] === 1 ? targetKw : Number.POSITIVE_INFINITY;
    // The loop leaves a zero as it is, and only import is read.
    flows.importKwh.fill(0);
    const state = { socKwh: quantityAt(day.capacityKwh, 0), shortfallIntervals: 0, shortfallKwh: 0 };
    executeLevels(day, levels, 0, length, state, flows);
    // A kW target met to this is met: it comes back from the loop as energy.
    const heldKwh = (targetKw + 1e-9) * this.view.axis.stepHours;
    for (let k = 0; k < length; k++) if (this.counts[start + k] === 1 && flows.importKwh[k]! > heldKwh) return false;
    // A floor that is missed under the target is one that the target isn't held for.
    return this.view.plant.floorFromPast === true || state.shortfallIntervals === 0;
  }
}

/** A plant over a stretch that has passed, its first entry that of the stretch. */
type PastPlant = Omit<PlantOnAxis, 'axis' | 'source'>;

function cutPlant(past: PastPlant, from: number, to: number): PastPlant {
  return {
    ...past,
    capacityKwh: cutQuantity(past.capacityKwh, from, to),
    floorKwh: cutQuantity(past.floorKwh, from, to),
    chargeLimitKwh: cutQuantity(past.chargeLimitKwh, from, to),
    dischargeLimitKwh: cutQuantity(past.dischargeLimitKwh, from, to),
    netKwh: past.netKwh.subarray(from, to),
    clippedKwh: past.clippedKwh?.subarray(from, to),
    servedLimitKwh: past.servedLimitKwh?.subarray(from, to),
  };
}
