import type { Axis } from '../axis/index.ts';
import { anAxis, anInterval } from '../axis/inside.ts';
import { anything, callable, check, isMadeHere, optional, type Rule, record, report } from '../input/door.ts';
import { InputError, showValue } from '../input/index.ts';
import { type Flows, type Levels, makeFlows, makeLevels, type PlantOnAxis } from '../plant/index.ts';
import {
  aPlantOnAxis,
  clearFlows,
  executeLevels,
  executeWithoutPlant,
  firstBadLevel,
  flowsOfLength,
  levelsOfLength,
  resetLevels,
  startState,
} from '../plant/inside.ts';
import { aCompiledTariff } from '../tariff/inside.ts';
import { aHome, type Home, layHome } from './home.ts';
import { aStrategy, isOurs, roleOf } from './registry.ts';
import type { Planner, Strategy, StrategyView } from './strategy.ts';

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

/** What {@link runStrategy} may reuse, where many runs follow each other. */
export interface RunOptions {
  /** Result of `homeOnAxis` for this home. */
  readonly onAxis?: PlantOnAxis;
  /** Arrays of an earlier run, overwritten: its flows are gone then. */
  readonly flows?: Flows;
  readonly levels?: Levels;
}

/**
 * Runs a strategy through the plant, over every interval of the home's axis.
 *
 * A causal strategy is handed arrays that hold NaN wherever it may not look; each value appears once the run has
 * passed it (a day-ahead price once it is published). So it can't use the future even by mistake. A strategy that isn't
 * the library's own sees copies, so that it can't change the run either.
 *
 * @throws InputError on a home or a strategy that is not sound; where the strategy plans an empty block (`empty-block`), or
 * leaves a level that is NaN (`not-finite`)
 */
export function runStrategy(strategy: Strategy, home: Home, options: RunOptions = {}): StrategyRun {
  check(
    { strategy, home, options },
    {
      strategy: aStrategy,
      // What was laid on its axis was looked at then.
      home: isMadeHere('plant on its axis', options?.onAxis) ? homeAsLaid(options.onAxis!) : aHome,
      options: record<RunOptions>({
        onAxis: optional(aPlantOnAxis),
        flows: optional(flowsOfLength),
        levels: optional(levelsOfLength),
      }),
    },
  );
  return playStrategy(strategy, home, options);
}

/** A home whose plant was laid on its axis: axis, load and sun are the very ones. */
function homeAsLaid(onAxis: PlantOnAxis): Rule {
  const same =
    (what: unknown): Rule =>
    (value, path, looking) => {
      if (value !== what) report(looking, path, 'contradiction', 'another one', 'the one that homeOnAxis was given');
    };
  return (value, path, looking) => {
    looking.intervals = onAxis.axis.intervals;
    record<Home>({
      axis: same(onAxis.axis),
      plant: plantAsLaid(onAxis),
      service: anything,
      loadKwh: same(onAxis.source.loadKwh),
      solarKwh: same(onAxis.source.solarKwh),
      tariff: aCompiledTariff,
    })(value, path, looking);
  };
}

/** The plant says where a run starts, and its floor is what a strategy is shown. */
function plantAsLaid({ startKwh, floorKwh }: PlantOnAxis): Rule {
  return (value, path, looking) => {
    const plant = value as Home['plant'] | null | undefined;
    if (plant?.startKwh !== startKwh || plant?.floorKwh !== floorKwh)
      report(looking, path, 'contradiction', 'another plant', 'the one that homeOnAxis was given');
  };
}

/** {@link runStrategy} of a home and a strategy that were checked. */
export function playStrategy(strategy: Strategy, home: Home, options: RunOptions = {}): StrategyRun {
  const { axis, loadKwh, solarKwh, tariff, plant, service } = home;
  const n = axis.intervals;
  const flows = options.flows === undefined ? makeFlows(n) : clearFlows(options.flows);
  if (roleOf(strategy) === 'baseline') {
    executeWithoutPlant(axis, loadKwh, solarKwh, service, flows);
    return { strategy, flows, shortfallIntervals: 0, shortfallKwh: 0 };
  }
  const onAxis = options.onAxis ?? layHome(home);
  const levels = options.levels === undefined ? makeLevels(n) : resetLevels(options.levels);
  const trusted = isOurs(strategy);
  // What else a home carries, such as a case's plant on its axis, no strategy is shown.
  const shown = trusted ? { axis, loadKwh, solarKwh, tariff, plant, service } : copyOf(home);
  const shownFlows = trusted ? flows : makeFlows(n);
  const curtain = strategy.knowledge === 'causal' ? drawCurtain(shown, shownFlows) : undefined;
  const planner = strategy.begin(curtain?.view ?? { ...shown, flows: shownFlows });
  if (!trusted) check({ planner }, { planner: record<Planner>({ plan: callable }) });
  const state = startState(plant);
  for (let from = 0; from < n; ) {
    curtain?.reveal(from);
    const to = planner.plan(from, state.socKwh, levels);
    if (!(to > from) || (to < n && !Number.isInteger(to))) throw emptyBlock(strategy, from, to);
    const end = Math.min(to, n);
    checkLevels(strategy, levels, from, end);
    executeLevels(onAxis, levels, from, end, state, flows);
    if (!trusted)
      for (const field of Object.keys(flows) as (keyof Flows)[])
        shownFlows[field].set(flows[field].subarray(from, end), from);
    from = end;
  }
  return { strategy, flows, shortfallIntervals: state.shortfallIntervals, shortfallKwh: state.shortfallKwh };
}

/** A copy of a home down to its arrays. What a bill's lines are made from is left out: nobody decides by it. */
function copyOf({ axis, loadKwh, solarKwh, tariff, plant, service }: Home): Home {
  const copies = new Map<object, unknown>();
  const copy = (value: unknown): unknown => {
    if (typeof value !== 'object' || value === null) return value;
    const known = copies.get(value);
    if (known !== undefined) return known;
    if (ArrayBuffer.isView(value)) {
      const array = (value as Float64Array).slice();
      copies.set(value, array);
      return array;
    }
    const made: Record<string, unknown> | unknown[] = Array.isArray(value) ? [] : {};
    copies.set(value, made);
    for (const [field, inner] of Object.entries(value)) (made as Record<string, unknown>)[field] = copy(inner);
    return made;
  };
  return copy({ axis, loadKwh, solarKwh, plant, service, tariff: { ...tariff, plan: undefined } }) as Home;
}

function emptyBlock(strategy: Strategy, from: number, to: number): InputError {
  return new InputError([
    {
      code: 'empty-block',
      where: { path: ['strategy', 'plan'], name: strategy.name },
      received: `a block from interval ${from} to ${showValue(to)}`,
      expected: `a whole number above ${from}: where the block ends`,
      hint: 'plan(from, …) returns the interval from which it wants to be asked again',
    },
  ]);
}

function checkLevels(strategy: Strategy, levels: Levels, from: number, to: number): void {
  const at = firstBadLevel(levels, from, to);
  if (at < 0) return;
  throw new InputError([
    {
      code: 'not-finite',
      where: { path: ['strategy', 'levels', at], name: strategy.name },
      received: 'a level that is not a number, or a cap below 0',
      expected: 'levels of stored energy and a cap of at least 0',
      hint: 'a causal strategy reads NaN where it may not look: ask only for what has passed, or is published',
    },
  ]);
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
    const until = series.published ? publicationEnd(axis, now) : now;
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

/**
 * The first interval whose day-ahead price isn't known yet at the start of interval `from`.
 * @throws InputError where the axis has no such interval
 */
export function publishedUntil(axis: Axis, from: number): number {
  check({ axis, from }, { axis: anAxis, from: anInterval });
  return publicationEnd(axis, from);
}

/** {@link publishedUntil} on the way through a run: nothing is checked. */
export function publicationEnd(axis: Axis, from: number): number {
  const { day, days, minuteOfDay } = axis.calendar;
  const lastDay = day[from]! + (minuteOfDay[from]! >= PUBLICATION_MINUTE ? 1 : 0);
  const known = days[Math.min(lastDay, days.length - 1)]!;
  return known.firstInterval + known.intervals;
}
