import type { Axis } from '../axis/index.ts';
import { anAxis, anInterval } from '../axis/inside.ts';
import { check } from '../input/door.ts';
import type { Flows, KnownFloor } from '../plant/index.ts';
import type { Home } from './home.ts';
import type { StrategyView } from './strategy.ts';

/** Day-ahead prices are known from this minute of the local day before. */
const PUBLICATION_MINUTE = 13 * 60;

/** A causal strategy's view, and what becomes of it as the run goes on. */
export interface Curtain {
  readonly view: StrategyView;
  /** Shows what is known at the start of interval `from`. */
  reveal(from: number): void;
  /** Whether every array that was shown is still there: a stranger may have given its memory away. */
  isWhole(): boolean;
}

/**
 * The view of a causal strategy, and what lifts the curtain as the run goes on. A series is made only once it is looked
 * at: a strategy that needs none costs none.
 *
 * @param axis by which prices are published: the run's own, where the strategy sees a copy that it may write into
 * @param trusted whether the strategy is the library's own: its load and sun end where the run stands, with nothing copied
 */
export function drawCurtain(home: Home, flows: Flows, axis = home.axis, trusted = false): Curtain {
  const { tariff } = home;
  let now = 0;
  const shown: { seen: Float64Array; real: Float64Array; until: number; published: boolean }[] = [];
  const lift = (series: (typeof shown)[number]) => {
    const until = series.published ? publicationEnd(axis, now) : now;
    if (until <= series.until) return;
    // Entry by entry: most blocks are an hour long, and a view of so few costs more than their copies.
    const { seen, real } = series;
    for (let i = series.until; i < until; i++) seen[i] = real[i]!;
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
  const passed = (real: Float64Array) => {
    let view = real.subarray(0, 0);
    return () => {
      if (view.length !== now) view = real.subarray(0, now);
      return view;
    };
  };
  const load = trusted ? passed(home.loadKwh) : behind(home.loadKwh);
  const solar = trusted ? passed(home.solarKwh) : behind(home.solarKwh);
  const reach = typeof home.plant.reach === 'number' ? undefined : behind(home.plant.reach);
  const importPrice = behind(tariff.importPricePerKwh, true);
  const exportPrice = behind(tariff.exportPricePerKwh, true);
  const floor = presentFloor(home, axis) ?? noticedFloor(home);
  const plant =
    reach === undefined && floor === undefined
      ? home.plant
      : {
          ...home.plant,
          ...(floor === undefined ? {} : { floorKwh: floor.seen, floorAsKnown: undefined }),
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
      axis: home.axis,
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
    isWhole() {
      for (const { seen } of shown) if (seen.length !== axis.intervals) return false;
      return floor === undefined || floor.seen.length === axis.intervals;
    },
  };
}

/** A floor that isn't all known yet. */
interface SeenFloor {
  readonly seen: Float64Array;
  reveal(from: number): void;
}

/** A floor reckoned from the past: entries after the present interval repeat it, as far ahead as strategies look. */
function presentFloor(home: Home, axis: Axis): SeenFloor | undefined {
  const { floorKwh, floorFromPast } = home.plant;
  if (typeof floorKwh === 'number' || !floorFromPast) return undefined;
  const n = floorKwh.length;
  const ahead = Math.round(72 / axis.stepHours);
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

/** A floor of which a part is known from a notice on. */
function noticedFloor(home: Home): SeenFloor | undefined {
  const known = knownFloors(home.plant);
  if (known === undefined || known.length < 2) return undefined;
  const seen = known[0]!.floorKwh.slice();
  let next = 1;
  return {
    seen,
    reveal(from) {
      for (; next < known.length && known[next]!.from <= from; next++) seen.set(known[next]!.floorKwh);
    },
  };
}

/** What was known of a floor that varies, and from when on; undefined of one that stands. */
export function knownFloors({ floorKwh, floorAsKnown }: Home['plant']): readonly KnownFloor[] | undefined {
  if (typeof floorKwh === 'number') return undefined;
  return floorAsKnown ?? [{ from: 0, floorKwh }];
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
