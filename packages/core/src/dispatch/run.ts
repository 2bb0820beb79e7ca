import type { Axis } from '../axis/index.ts';
import {
  executeLevels,
  executeWithoutPlant,
  type Flows,
  type Levels,
  makeFlows,
  makeLevels,
  type Plant,
  type PreparedPlant,
  preparePlant,
  type Service,
  startState,
} from '../plant/index.ts';
import type { CompiledTariff } from '../tariff/index.ts';
import type { Strategy, StrategyView } from './strategy.ts';

/** A home on one axis, ready for any strategy. Series are kWh an interval, finite and not negative. */
export interface Home {
  readonly axis: Axis;
  readonly loadKwh: Float64Array;
  readonly solarKwh: Float64Array;
  readonly tariff: CompiledTariff;
  readonly plant: Plant;
  readonly service: Service;
}

/** One strategy's year. */
export interface StrategyRun {
  readonly strategy: Strategy;
  readonly flows: Flows;
  /** Intervals that ended with less than the floor, and the largest lack, kWh. */
  readonly shortfallIntervals: number;
  readonly shortfallKwh: number;
}

/** Day-ahead prices are known from this minute of the local day before. */
const PUBLICATION_MINUTE = 13 * 60;

/**
 * Runs a strategy through the plant, over every interval of the home's axis.
 *
 * A causal strategy is handed arrays that hold NaN wherever it may not look; each value appears once the run has
 * passed it (a day-ahead price once it is published). So it can't use the future even by mistake.
 *
 * @param prepared result of `preparePlant` for this home, where several strategies run over it
 * @throws Error `internal:` where a planner returns a bad block or a level that is NaN
 */
export function runStrategy(
  strategy: Strategy,
  home: Home,
  prepared: PreparedPlant = preparePlant(home.axis, home.loadKwh, home.solarKwh, home.plant, home.service),
): StrategyRun {
  const { axis, plant, service } = home;
  const n = axis.intervals;
  const flows = makeFlows(n);
  if (strategy.withoutPlant) {
    executeWithoutPlant(axis, home.loadKwh, home.solarKwh, service, flows);
    return { strategy, flows, shortfallIntervals: 0, shortfallKwh: 0 };
  }
  const curtain = strategy.knowledge === 'causal' ? drawCurtain(home, flows) : undefined;
  const planner = strategy.begin(curtain?.view ?? { ...home, flows });
  const levels = makeLevels(n);
  const state = startState(plant);
  for (let from = 0; from < n; ) {
    curtain?.reveal(from);
    const to = planner.plan(from, state.socKwh, levels);
    if (!(to > from)) throw new Error(`strategy "${strategy.name}" planned intervals ${from} to ${to}: an empty block`);
    const end = Math.min(to, n);
    checkLevels(strategy, levels, from, end);
    executeLevels(prepared, levels, from, end, state, flows);
    from = end;
  }
  return { strategy, flows, shortfallIntervals: state.shortfallIntervals, shortfallKwh: state.shortfallKwh };
}

function checkLevels(strategy: Strategy, levels: Levels, from: number, to: number): void {
  const { solarChargeToKwh, gridChargeToKwh, serveDownToKwh, exportDownToKwh, importCapKw } = levels;
  for (let i = from; i < to; i++) {
    const fine =
      !Number.isNaN(solarChargeToKwh[i]!) &&
      !Number.isNaN(gridChargeToKwh[i]!) &&
      !Number.isNaN(serveDownToKwh[i]!) &&
      !Number.isNaN(exportDownToKwh[i]!) &&
      importCapKw[i]! >= 0;
    if (!fine)
      throw new Error(
        `strategy "${strategy.name}" left a level of interval ${i} that is not a number, or a cap below 0: ` +
          `a causal strategy reads NaN where it may not look`,
      );
  }
}

/** The view of a causal strategy, and what lifts the curtain as the run goes on. */
function drawCurtain(home: Home, flows: Flows): { view: StrategyView; reveal(from: number): void } {
  const { axis, tariff } = home;
  const n = axis.intervals;
  const pairs: [seen: Float64Array, real: Float64Array][] = [];
  const hide = (real: Float64Array) => {
    const seen = new Float64Array(n).fill(Number.NaN);
    pairs.push([seen, real]);
    return seen;
  };
  const loadKwh = hide(home.loadKwh);
  const solarKwh = hide(home.solarKwh);
  const plant = typeof home.plant.reach === 'number' ? home.plant : { ...home.plant, reach: hide(home.plant.reach) };
  const pricesHidden = tariff.priceKnowledge === 'day-ahead';
  const importPrice = pricesHidden ? new Float64Array(n).fill(Number.NaN) : tariff.importPricePerKwh;
  const exportPrice = pricesHidden ? new Float64Array(n).fill(Number.NaN) : tariff.exportPricePerKwh;
  const seenTariff = pricesHidden
    ? { ...tariff, importPricePerKwh: importPrice, exportPricePerKwh: exportPrice }
    : tariff;
  let seen = 0;
  let priced = 0;
  return {
    view: { ...home, plant, tariff: seenTariff, loadKwh, solarKwh, flows },
    reveal(from) {
      for (const [hidden, real] of pairs) hidden.set(real.subarray(seen, from), seen);
      seen = from;
      if (!pricesHidden) return;
      const until = publishedUntil(axis, from);
      if (until > priced) {
        importPrice.set(tariff.importPricePerKwh.subarray(priced, until), priced);
        exportPrice.set(tariff.exportPricePerKwh.subarray(priced, until), priced);
        priced = until;
      }
    },
  };
}

/** The first interval whose day-ahead price isn't known yet at the start of interval `from`. */
export function publishedUntil(axis: Axis, from: number): number {
  const { day, days, minuteOfDay } = axis.calendar;
  const lastDay = day[from]! + (minuteOfDay[from]! >= PUBLICATION_MINUTE ? 1 : 0);
  const known = days[Math.min(lastDay, days.length - 1)]!;
  return known.firstInterval + known.intervals;
}
