import type { Levels, PlantPerStep } from '../plant/index.ts';
import { arrayOf, plantPerStep, quantityAt, resetLevels } from '../plant/inside.ts';
import { publicationEnd } from './curtain.ts';
import { enter } from './identity.ts';
import type { Planner, Strategy, StrategyView } from './strategy.ts';

/** Share of what a day has shown that the next expectation takes over: about the last four like days count. */
const LEARNING_RATE = 0.25;

/** A stretch between two peak windows that is longer than this has nothing to fill for yet. */
const FILL_DAYS = 3;

/** Share of the usual surplus that is counted on to bring back what is spent before it comes. */
const TRUSTED_SURPLUS = 0.5;

/** Prices closer than this are the same price. */
const SAME_PRICE = 1e-9;

/**
 * Fills before each on-peak window and spends in it.
 *
 * It takes the windows from the tariff, so that holidays and seasons are respected by themselves, and learns from the
 * past days how much own surplus and how much on-peak load to expect at each time of day. Between two
 * on-peak windows it
 * - buys in the cheapest intervals, the latest of them first, where the on-peak price pays for the losses, and leaves
 *   room for the surplus still to come where that is the cheaper energy;
 * - stores own surplus where it is worth more stored than sold;
 * - carries load down to what the window usually needs (twice that, to be safe) less what can still be refilled;
 * and in the window it carries load down to the floor, and sells what the load won't need where that pays.
 *
 * @see docs/concepts/dispatch.md, "window"
 */
export const windowFill: Strategy = /* @__PURE__ */ enter({
  name: 'window',
  knowledge: 'causal',
  begin: (view: StrategyView) => new WindowPlanner(view),
});

class WindowPlanner implements Planner {
  private readonly view: StrategyView;
  private readonly plant: PlantPerStep;
  /** 1 for the windows of the tariff that are on-peak. */
  private readonly peakWindow: Uint8Array;
  private readonly minuteOfDay: Int16Array;
  /** Expected surplus and on-peak load of an interval, by its minute of the day, kWh. NaN: not seen yet. */
  private readonly usualSurplusKwh = new Float64Array(1440);
  private readonly usualPeakLoadKwh = new Float64Array(1440).fill(Number.NaN);
  /** Runs of the stretch that is filled: its edges, and where in each of them buying begins. */
  private readonly runs: { count: number; edges: Int32Array; buyFrom: Int32Array };
  private learned = 0;

  constructor(view: StrategyView) {
    this.view = view;
    const { axis, tariff } = view;
    this.plant = plantPerStep(view.plant, axis);
    this.peakWindow = Uint8Array.from(tariff.windows, ({ kind }) => (kind === 'peak' ? 1 : 0));
    this.minuteOfDay = axis.calendar.minuteOfDay;
    // A stretch is no longer than this, and a run is at least a step.
    const most = FILL_DAYS * Math.round(24 / axis.stepHours) + 1;
    this.runs = { count: 0, edges: new Int32Array(most + 1), buyFrom: new Int32Array(most) };
  }

  plan(from: number, _socKwh: number, levels: Levels): number {
    const { axis, tariff } = this.view;
    this.learn(from);
    // Where prices are published a day ahead, what isn't yet is planned once it is.
    const known = tariff.priceKnowledge === 'published' ? axis.intervals : publicationEnd(axis, from);
    const { peakWindow } = this;
    const { window } = tariff;
    let peakStart = from;
    while (peakStart < axis.intervals && peakWindow[window[peakStart]!] === 0) peakStart++;
    const dayIntervals = Math.round(24 / axis.stepHours);
    if (peakStart - from > FILL_DAYS * dayIntervals) {
      const to = Math.min(from + dayIntervals, peakStart - FILL_DAYS * dayIntervals, known);
      this.planQuiet(from, to, levels);
      return to;
    }
    if (peakStart === axis.intervals) {
      const to = Math.min(peakStart, known);
      this.planQuiet(from, to, levels);
      return to;
    }
    let peakEnd = peakStart;
    while (peakEnd < axis.intervals && peakWindow[window[peakEnd]!] === 1) peakEnd++;
    // What was planned at prices that weren't published yet is planned anew.
    if (tariff.priceKnowledge !== 'published') resetLevels(levels, from, peakEnd);
    this.planFill(from, peakStart, peakEnd, levels);
    this.planPeak(peakStart, peakEnd, levels);
    return Math.min(peakEnd, known);
  }

  /** Takes the intervals up to `until` into the expectations. */
  private learn(until: number): void {
    const { loadKwh, solarKwh } = this.view;
    const { window } = this.view.tariff;
    const { minuteOfDay, peakWindow, usualSurplusKwh, usualPeakLoadKwh } = this;
    for (let i = this.learned; i < until; i++) {
      const minute = minuteOfDay[i]!;
      const net = loadKwh[i]! - solarKwh[i]!;
      const surplus = net < 0 ? -net : 0;
      const usualKwh = usualSurplusKwh[minute]!;
      if (surplus > 0 || usualKwh > 0) usualSurplusKwh[minute] = usualKwh + LEARNING_RATE * (surplus - usualKwh);
      if (peakWindow[window[i]!] === 1) {
        const before = usualPeakLoadKwh[minute]!;
        const seen = net > 0 ? net : 0;
        usualPeakLoadKwh[minute] = Number.isNaN(before) ? seen : before + LEARNING_RATE * (seen - before);
      }
    }
    this.learned = until;
  }

  /** No on-peak window in sight: self-consumption where storing pays. */
  private planQuiet(from: number, to: number, levels: Levels): void {
    const { tariff } = this.view;
    const { chargeEfficiency, dischargeEfficiency } = this.plant.conversion;
    let dearest = Number.NEGATIVE_INFINITY;
    for (let i = from; i < to; i++) if (tariff.importPricePerKwh[i]! > dearest) dearest = tariff.importPricePerKwh[i]!;
    const worthKept = dearest * dischargeEfficiency * chargeEfficiency;
    for (let i = from; i < to; i++)
      levels.solarChargeToKwh[i] = tariff.exportPricePerKwh[i]! < worthKept ? Number.POSITIVE_INFINITY : 0;
  }

  /** Intervals `[from, peakStart)`: gather energy for the window that follows. */
  private planFill(from: number, peakStart: number, peakEnd: number, levels: Levels): void {
    const { plant } = this;
    const { importPricePerKwh, exportPricePerKwh } = this.view.tariff;
    const { chargeEfficiency, dischargeEfficiency } = plant.conversion;
    const roundTrip = chargeEfficiency * dischargeEfficiency;
    let peakPrice = 0;
    let peakSale = Number.NEGATIVE_INFINITY;
    let needKwh = 0;
    for (let i = peakStart; i < peakEnd; i++) {
      if (plant.batteryExport && exportPricePerKwh[i]! > peakSale) peakSale = exportPricePerKwh[i]!;
      peakPrice += importPricePerKwh[i]! / (peakEnd - peakStart);
      needKwh += this.usualPeakLoadKwh[this.minuteOfDay[i]!]!;
    }
    const worth = peakPrice * roundTrip;
    this.findRuns(from, peakStart);
    const buyPrice = this.chooseBuying(peakStart, worth);

    // Backwards: what can still come back before the window, counting purchases and the usual surplus.
    let refillKwh = 0;
    let dearest = Number.NEGATIVE_INFINITY;
    // What a window usually takes, doubled: running dry in it costs more than keeping too much for it.
    const keepKwh = Number.isNaN(needKwh) ? Number.POSITIVE_INFINITY : (2 * needKwh) / dischargeEfficiency;
    let surplusAheadKwh = 0;
    const { minuteOfDay, usualSurplusKwh } = this;
    const { count, edges, buyFrom } = this.runs;
    const { gridChargeToKwh, serveDownToKwh, solarChargeToKwh } = levels;
    // What is decided by prices is decided once a run; within it only what can come back changes from step to step.
    for (let r = count - 1; r >= 0; r--) {
      const start = edges[r]!;
      // A plus tells the engine that these are numbers.
      const floorKwh = +quantityAt(plant.floorKwh, start);
      const capacityKwh = +quantityAt(plant.capacityKwh, start);
      const chargeStepKwh = +quantityAt(plant.chargeLimitKwh, start);
      const price = importPricePerKwh[start]!;
      const sale = exportPricePerKwh[start]!;
      // All of it is kept where the window's sale price beats carrying load now.
      const kept = peakSale > price ? capacityKwh : Math.min(capacityKwh, floorKwh + keepKwh);
      let end = edges[r + 1]!;
      for (const begin of [buyFrom[r]!, start]) {
        if (begin === end) continue;
        const buys = end > buyFrom[r]!;
        if (!buys && price > dearest) dearest = price;
        const keepWorth = Math.min(worth, Number.isFinite(buyPrice) ? Math.max(buyPrice, dearest * roundTrip) : worth);
        const store = sale < keepWorth;
        // Room for the surplus to come, weighed by what too little and what too much of it would cost
        // (the newsvendor's ratio, on a surplus spread evenly between none and twice the usual).
        const ratio = sale < buyPrice ? Math.min(1, (2 * (buyPrice - sale)) / (worth - sale)) : 0;
        const target = dearest * roundTrip > buyPrice ? capacityKwh : kept;
        // Down to what the sun can bring back where that beats selling it, further where buying back pays too.
        const servesByRefill = price * roundTrip > buyPrice;
        const serves = !buys && (servesByRefill || price * roundTrip > sale);
        if (!serves) serveDownToKwh.fill(Number.POSITIVE_INFINITY, begin, end);
        if (!store) solarChargeToKwh.fill(0, begin, end);
        for (let i = end - 1; i >= begin; i--) {
          if (buys) {
            gridChargeToKwh[i] = Math.max(floorKwh, target - ratio * surplusAheadKwh * chargeEfficiency);
            refillKwh += chargeStepKwh * chargeEfficiency;
          } else if (serves)
            serveDownToKwh[i] =
              kept - (servesByRefill ? refillKwh : TRUSTED_SURPLUS * surplusAheadKwh * chargeEfficiency);
          if (store) {
            const usualKwh = Math.min(usualSurplusKwh[minuteOfDay[i]!]!, chargeStepKwh);
            surplusAheadKwh += usualKwh;
            refillKwh += usualKwh * chargeEfficiency;
          }
        }
        end = begin;
      }
    }
  }

  /** Runs of intervals `[from, peakStart)` with the same prices; single steps where the plant varies. */
  private findRuns(from: number, peakStart: number): void {
    const { plant, runs } = this;
    const { importPricePerKwh, exportPricePerKwh } = this.view.tariff;
    const varies = [plant.floorKwh, plant.capacityKwh, plant.chargeLimitKwh].some((q) => typeof q !== 'number');
    let count = 0;
    for (let i = from; i < peakStart; i++) {
      const isSame =
        i > from &&
        !varies &&
        importPricePerKwh[i] === importPricePerKwh[i - 1] &&
        exportPricePerKwh[i] === exportPricePerKwh[i - 1];
      if (!isSame) runs.edges[count++] = i;
    }
    runs.edges[count] = peakStart;
    runs.count = count;
  }

  /**
   * Marks the intervals to buy in: the cheapest that pay and aren't too cold, the latest first, until they fill the battery
   * (and a quarter more, for load that takes some of the service). Returns the dearest price among them, Infinity for none.
   */
  private chooseBuying(peakStart: number, worth: number): number {
    const { plant } = this;
    const { importPricePerKwh } = this.view.tariff;
    const { count, edges, buyFrom } = this.runs;
    for (let r = 0; r < count; r++) buyFrom[r] = edges[r + 1]!;
    if (!plant.gridCharging) return Number.POSITIVE_INFINITY;
    const stepKwh = this.view.plant.chargeLimitKw * plant.stepHours * plant.conversion.chargeEfficiency;
    const limits = arrayOf(plant.chargeLimitKwh);
    // Where the limit varies, a run is one step.
    const tooCold = (r: number) => limits !== undefined && limits[edges[r]!] === 0;
    const roomKwh = quantityAt(plant.capacityKwh, peakStart) - quantityAt(plant.floorKwh, peakStart);
    let open = Math.ceil((1.25 * roomKwh) / stepKwh);
    let level = Number.NEGATIVE_INFINITY;
    let dearest = Number.POSITIVE_INFINITY;
    while (open > 0) {
      let next = Number.POSITIVE_INFINITY;
      for (let r = 0; r < count; r++) {
        const price = importPricePerKwh[edges[r]!]!;
        if (price > level + SAME_PRICE && price < next && !tooCold(r)) next = price;
      }
      if (!(next < worth)) break;
      for (let r = count - 1; r >= 0 && open > 0; r--) {
        if (Math.abs(importPricePerKwh[edges[r]!]! - next) > SAME_PRICE || tooCold(r)) continue;
        const bought = Math.min(open, edges[r + 1]! - edges[r]!);
        buyFrom[r] = edges[r + 1]! - bought;
        open -= bought;
      }
      level = next;
      dearest = next;
    }
    return dearest;
  }

  /** Intervals of the window itself: spend. */
  private planPeak(peakStart: number, peakEnd: number, levels: Levels): void {
    const { plant } = this;
    const { tariff, axis } = this.view;
    if (!plant.batteryExport) return;
    const { chargeEfficiency, dischargeEfficiency } = plant.conversion;
    // What the next stretch would take to buy back what is sold now.
    let refillPrice = Number.POSITIVE_INFINITY;
    const dayIntervals = Math.round(24 / axis.stepHours);
    for (
      let i = peakEnd;
      i < Math.min(axis.intervals, peakEnd + dayIntervals) && this.peakWindow[tariff.window[i]!] === 0;
      i++
    )
      refillPrice = Math.min(refillPrice, tariff.importPricePerKwh[i]!);
    const roundTrip = chargeEfficiency * dischargeEfficiency;
    let needKwh = 0;
    for (let i = peakEnd - 1; i >= peakStart; i--) {
      if (plant.gridCharging && tariff.exportPricePerKwh[i]! * roundTrip > refillPrice && !Number.isNaN(needKwh))
        levels.exportDownToKwh[i] = quantityAt(plant.floorKwh, i) + (2 * needKwh) / dischargeEfficiency;
      needKwh += this.usualPeakLoadKwh[this.minuteOfDay[i]!]!;
    }
  }
}
