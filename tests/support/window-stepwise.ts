import { type Planner, publishedUntil, type Strategy, type StrategyView } from '@duskbank/core/dispatch';
import type { Levels, PlantPerStep } from '@duskbank/core/plant';
import { arrayOf, plantPerStep, quantityAt, resetLevels } from '../../packages/core/src/plant/inside.ts';

// `window` as it reads most plainly: each interval by itself, no runs of equal prices. What the library's own is held to.

/** Share of what a day has shown that the next expectation takes over: about the last four like days count. */
const LEARNING_RATE = 0.25;

/** A stretch between two peak windows that is longer than this has nothing to fill for yet. */
const FILL_DAYS = 3;

/** Share of the usual surplus that is counted on to bring back what is spent before it comes. */
const TRUSTED_SURPLUS = 0.5;

/** Prices closer than this are the same price. */
const SAME_PRICE = 1e-9;

/** `windowFill`, step by step. */
export const windowStepwise: Strategy = {
  name: 'window, step by step',
  knowledge: 'causal',
  begin: (view) => new WindowPlanner(view),
};

class WindowPlanner implements Planner {
  private readonly view: StrategyView;
  private readonly plant: PlantPerStep;
  private readonly isPeak: Uint8Array;
  private readonly minuteOfDay: Int16Array;
  /** Expected surplus and on-peak load of an interval, by its minute of the day, kWh. NaN: not seen yet. */
  private readonly usualSurplusKwh = new Float64Array(1440);
  private readonly usualPeakLoadKwh = new Float64Array(1440).fill(Number.NaN);
  private readonly buy: Uint8Array;
  private learned = 0;

  constructor(view: StrategyView) {
    this.view = view;
    const { axis, tariff } = view;
    this.plant = plantPerStep(view.plant, axis);
    const n = axis.intervals;
    const peakWindow = tariff.windows.map((window) => (window.kind === 'peak' ? 1 : 0));
    this.isPeak = new Uint8Array(n);
    for (let i = 0; i < n; i++) this.isPeak[i] = peakWindow[tariff.window[i]!]!;
    this.minuteOfDay = axis.calendar.minuteOfDay;
    this.buy = new Uint8Array(n);
  }

  plan(from: number, _socKwh: number, levels: Levels): number {
    const { axis, tariff } = this.view;
    this.learn(from);
    // Where prices are published a day ahead, what isn't yet is planned once it is.
    const known = tariff.priceKnowledge === 'published' ? axis.intervals : publishedUntil(axis, from);
    let peakStart = from;
    while (peakStart < axis.intervals && this.isPeak[peakStart] === 0) peakStart++;
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
    while (peakEnd < axis.intervals && this.isPeak[peakEnd] === 1) peakEnd++;
    if (known < axis.intervals) resetLevels(levels, from, peakEnd);
    this.planFill(from, peakStart, peakEnd, levels);
    this.planPeak(peakStart, peakEnd, levels);
    return Math.min(peakEnd, known);
  }

  /** Takes the intervals up to `until` into the expectations. */
  private learn(until: number): void {
    const { loadKwh, solarKwh } = this.view;
    const { minuteOfDay, isPeak, usualSurplusKwh, usualPeakLoadKwh } = this;
    for (let i = this.learned; i < until; i++) {
      const minute = minuteOfDay[i]!;
      const net = loadKwh[i]! - solarKwh[i]!;
      const surplus = net < 0 ? -net : 0;
      usualSurplusKwh[minute]! += LEARNING_RATE * (surplus - usualSurplusKwh[minute]!);
      if (isPeak[i] === 1) {
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
    const buyPrice = this.chooseBuying(from, peakStart, worth);

    // Backwards: what can still come back before the window, counting purchases and the usual surplus.
    let refillKwh = 0;
    let dearest = Number.NEGATIVE_INFINITY;
    // What a window usually takes, doubled: running dry in it costs more than keeping too much for it.
    const keepKwh = Number.isNaN(needKwh) ? Number.POSITIVE_INFINITY : (2 * needKwh) / dischargeEfficiency;
    let surplusAheadKwh = 0;
    const { buy, minuteOfDay, usualSurplusKwh } = this;
    const { gridChargeToKwh, serveDownToKwh, solarChargeToKwh } = levels;
    // A plus tells the engine that these are numbers; only what varies is looked up in every step.
    let floorKwh = +quantityAt(plant.floorKwh, from);
    let capacityKwh = +quantityAt(plant.capacityKwh, from);
    let chargeStepKwh = +quantityAt(plant.chargeLimitKwh, from);
    const varies = [plant.floorKwh, plant.capacityKwh, plant.chargeLimitKwh].some((q) => typeof q !== 'number');
    for (let i = peakStart - 1; i >= from; i--) {
      if (varies) {
        floorKwh = quantityAt(plant.floorKwh, i);
        capacityKwh = quantityAt(plant.capacityKwh, i);
        chargeStepKwh = quantityAt(plant.chargeLimitKwh, i);
      }
      const price = importPricePerKwh[i]!;
      const sale = exportPricePerKwh[i]!;
      // All of it is kept where the window's sale price beats carrying load now.
      const kept = peakSale > price ? capacityKwh : Math.min(capacityKwh, floorKwh + keepKwh);
      if (buy[i] === 1) {
        // Room for the surplus to come, weighed by what too little and what too much of it would cost
        // (the newsvendor's ratio, on a surplus spread evenly between none and twice the usual).
        const ratio = sale < buyPrice ? Math.min(1, (2 * (buyPrice - sale)) / (worth - sale)) : 0;
        const target = dearest * roundTrip > buyPrice ? capacityKwh : kept;
        gridChargeToKwh[i] = Math.max(floorKwh, target - ratio * surplusAheadKwh * chargeEfficiency);
        serveDownToKwh[i] = Number.POSITIVE_INFINITY;
        refillKwh += chargeStepKwh * chargeEfficiency;
      } else {
        // Down to what the sun can bring back where that beats selling it, further where buying back pays too.
        let serveTo = Number.POSITIVE_INFINITY;
        if (price * roundTrip > buyPrice) serveTo = kept - refillKwh;
        else if (price * roundTrip > sale) serveTo = kept - TRUSTED_SURPLUS * surplusAheadKwh * chargeEfficiency;
        serveDownToKwh[i] = serveTo;
        if (price > dearest) dearest = price;
      }
      const keepWorth = Math.min(worth, Number.isFinite(buyPrice) ? Math.max(buyPrice, dearest * roundTrip) : worth);
      const store = sale < keepWorth;
      solarChargeToKwh[i] = store ? Number.POSITIVE_INFINITY : 0;
      if (store) {
        const usualKwh = Math.min(usualSurplusKwh[minuteOfDay[i]!]!, chargeStepKwh);
        surplusAheadKwh += usualKwh;
        refillKwh += usualKwh * chargeEfficiency;
      }
    }
  }

  /**
   * Marks the intervals to buy in: the cheapest that pay and aren't too cold, the latest first, until they fill the battery
   * (and a quarter more, for load that takes some of the service). Returns the dearest price among them, Infinity for none.
   */
  private chooseBuying(from: number, peakStart: number, worth: number): number {
    const { plant } = this;
    const { importPricePerKwh } = this.view.tariff;
    this.buy.fill(0, from, peakStart);
    if (!plant.gridCharging) return Number.POSITIVE_INFINITY;
    const stepKwh = this.view.plant.chargeLimitKw * plant.stepHours * plant.conversion.chargeEfficiency;
    const limits = arrayOf(plant.chargeLimitKwh);
    const tooCold = (i: number) => limits !== undefined && limits[i] === 0;
    const roomKwh = quantityAt(plant.capacityKwh, peakStart) - quantityAt(plant.floorKwh, peakStart);
    let open = Math.ceil((1.25 * roomKwh) / stepKwh);
    let level = Number.NEGATIVE_INFINITY;
    let dearest = Number.POSITIVE_INFINITY;
    while (open > 0) {
      let next = Number.POSITIVE_INFINITY;
      for (let i = from; i < peakStart; i++) {
        const price = importPricePerKwh[i]!;
        if (price > level + SAME_PRICE && price < next && !tooCold(i)) next = price;
      }
      if (!(next < worth)) break;
      for (let i = peakStart - 1; i >= from && open > 0; i--) {
        if (Math.abs(importPricePerKwh[i]! - next) > SAME_PRICE || tooCold(i)) continue;
        this.buy[i] = 1;
        open--;
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
    for (let i = peakEnd; i < Math.min(axis.intervals, peakEnd + dayIntervals) && this.isPeak[i] === 0; i++)
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
