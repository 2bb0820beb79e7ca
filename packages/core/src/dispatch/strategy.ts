import type { Axis } from '../axis/index.ts';
import type { Levels, Plant, Service } from '../plant/index.ts';
import type { CompiledTariff } from '../tariff/index.ts';

/**
 * What a strategy sees. A causal strategy's `loadKwh`, `solarKwh` and (under day-ahead prices) the two price series
 * are NaN wherever it may not know them yet; they fill up as the year goes by. A strategy with foresight sees all.
 */
export interface StrategyView {
  readonly axis: Axis;
  readonly plant: Plant;
  readonly service: Service;
  readonly tariff: CompiledTariff;
  readonly loadKwh: Float64Array;
  readonly solarKwh: Float64Array;
  readonly importPricePerKwh: Float64Array;
  readonly exportPricePerKwh: Float64Array;
}

/** Decides block by block. */
export interface Planner {
  /**
   * Fills the levels of intervals `[from, to)` and returns `to > from`. The view then holds everything before
   * `from`; `socKwh` is what is stored at its start.
   */
  plan(from: number, socKwh: number, levels: Levels): number;
}

/** A way to run a battery. Users may pass their own. */
export interface Strategy {
  readonly name: string;
  /** `causal`: decides from the past, the calendar and published prices alone, which the runner enforces. */
  readonly knowledge: 'causal' | 'foresight';
  /** Begins a run. The view is filled as the run goes on; keep it, and read it in {@link Planner.plan}. */
  begin(view: StrategyView): Planner;
}
