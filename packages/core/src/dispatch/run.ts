import type { Axis } from '../axis/index.ts';
import {
  clearFlows,
  executeLevels,
  executeWithoutPlant,
  type Flows,
  type Levels,
  makeFlows,
  makeLevels,
  type Plant,
  type PlantOnAxis,
  plantOnAxis,
  resetLevels,
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

/**
 * The home's plant laid on its axis: what the loop, the optimum and the search of settings read. O(n).
 *
 * @param former the same home with another plant: what depends on load and sun alone is taken over from it
 */
export function homeOnAxis(home: Omit<Home, 'tariff'>, former?: PlantOnAxis): PlantOnAxis {
  return plantOnAxis(home.plant, home.axis, home.loadKwh, home.solarKwh, home.service, former);
}

/** Day-ahead prices are known from this minute of the local day before. */
const PUBLICATION_MINUTE = 13 * 60;

/** What {@link runStrategy} may reuse, where many runs follow each other. */
export interface RunOptions {
  /** Result of {@link homeOnAxis} for this home. */
  readonly onAxis?: PlantOnAxis;
  /** Arrays of an earlier run, overwritten: its flows are gone then. */
  readonly flows?: Flows;
  readonly levels?: Levels;
}

/**
 * Runs a strategy through the plant, over every interval of the home's axis.
 *
 * A causal strategy is handed arrays that hold NaN wherever it may not look; each value appears once the run has
 * passed it (a day-ahead price once it is published). So it can't use the future even by mistake.
 *
 * @throws Error where a strategy plans an empty block, or leaves a level that is NaN
 */
export function runStrategy(strategy: Strategy, home: Home, options: RunOptions = {}): StrategyRun {
  const { axis, plant, service } = home;
  const n = axis.intervals;
  const flows = options.flows === undefined ? makeFlows(n) : clearFlows(options.flows);
  if (strategy.withoutPlant) {
    executeWithoutPlant(axis, home.loadKwh, home.solarKwh, service, flows);
    return { strategy, flows, shortfallIntervals: 0, shortfallKwh: 0 };
  }
  const onAxis = options.onAxis ?? homeOnAxis(home);
  const levels = options.levels === undefined ? makeLevels(n) : resetLevels(options.levels);
  const curtain = strategy.knowledge === 'causal' ? drawCurtain(home, flows) : undefined;
  const planner = strategy.begin(curtain?.view ?? { ...home, flows });
  const state = startState(plant);
  for (let from = 0; from < n; ) {
    curtain?.reveal(from);
    const to = planner.plan(from, state.socKwh, levels);
    if (!(to > from)) throw new Error(`strategy "${strategy.name}" planned intervals ${from} to ${to}: an empty block`);
    const end = Math.min(to, n);
    checkLevels(strategy, levels, from, end);
    executeLevels(onAxis, levels, from, end, state, flows);
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

/**
 * The view of a causal strategy, and what lifts the curtain as the run goes on. A series is made only once it is looked
 * at: a strategy that needs none costs none.
 */
function drawCurtain(home: Home, flows: Flows): { view: StrategyView; reveal(from: number): void } {
  const { axis, tariff } = home;
  let now = 0;
  const shown: { seen: Float64Array; real: Float64Array; until: number; published: boolean }[] = [];
  const lift = (series: (typeof shown)[number]) => {
    const until = series.published ? publishedUntil(axis, now) : now;
    if (until <= series.until) return;
    series.seen.set(series.real.subarray(series.until, until), series.until);
    series.until = until;
  };
  const behind = (real: Float64Array, published = false) => {
    let series: (typeof shown)[number] | undefined;
    return () => {
      if (series === undefined) {
        series = { seen: new Float64Array(axis.intervals).fill(Number.NaN), real, until: 0, published };
        shown.push(series);
        lift(series);
      }
      return series.seen;
    };
  };
  const load = behind(home.loadKwh);
  const solar = behind(home.solarKwh);
  const reach = typeof home.plant.reach === 'number' ? undefined : behind(home.plant.reach);
  const importPrice = behind(tariff.importPricePerKwh, true);
  const exportPrice = behind(tariff.exportPricePerKwh, true);
  const floor = presentFloor(home);
  const plant =
    reach === undefined && floor === undefined
      ? home.plant
      : {
          ...home.plant,
          ...(floor === undefined ? {} : { floorKwh: floor.seen }),
          get reach() {
            return reach === undefined ? home.plant.reach : reach();
          },
        };
  const seenTariff =
    tariff.priceKnowledge === 'published'
      ? tariff
      : Object.defineProperties(
          { ...tariff },
          {
            importPricePerKwh: { get: importPrice, enumerable: true },
            exportPricePerKwh: { get: exportPrice, enumerable: true },
          },
        );
  return {
    view: {
      axis,
      plant,
      service: home.service,
      tariff: seenTariff,
      flows,
      get loadKwh() {
        return load();
      },
      get solarKwh() {
        return solar();
      },
    },
    reveal(from) {
      now = from;
      for (const series of shown) lift(series);
      floor?.reveal(from);
    },
  };
}

/** A floor reckoned from the past: entries after the present interval repeat it, as far ahead as strategies look. */
function presentFloor(home: Home): { seen: Float64Array; reveal(from: number): void } | undefined {
  const { floorKwh, floorFromPast } = home.plant;
  if (typeof floorKwh === 'number' || !floorFromPast) return undefined;
  const n = floorKwh.length;
  const ahead = Math.round(72 / home.axis.stepHours);
  const seen = new Float64Array(n).fill(floorKwh[0]!);
  let known = 0;
  return {
    seen,
    reveal(from) {
      seen.set(floorKwh.subarray(known, from + 1), known);
      seen.fill(floorKwh[from]!, from + 1, Math.min(n, from + ahead));
      known = from + 1;
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
