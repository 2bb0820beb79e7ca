import type { Axis } from '../axis/index.ts';
import type { Flows, Levels, Plant, Service } from '../plant/index.ts';
import type { CompiledTariff } from '../tariff/index.ts';

/**
 * What a strategy sees. A causal strategy's `loadKwh`, `solarKwh`, a metered reach and (under day-ahead prices) the
 * tariff's two price series are NaN wherever it may not know them yet; they fill up as the run goes on. A strategy
 * with foresight sees all. Your strategy sees copies: what it writes into them changes nothing but its own view.
 */
export interface StrategyView {
  readonly axis: Axis;
  readonly plant: Plant;
  readonly service: Service;
  readonly tariff: CompiledTariff;
  readonly loadKwh: Float64Array;
  readonly solarKwh: Float64Array;
  /** The run's own flows so far; 0 from the block's start on. */
  readonly flows: Flows;
}

/** Decides block by block. */
export interface Planner {
  /**
   * Fills the levels of intervals `[from, to)` and returns `to > from`. The view then holds everything before
   * `from`; `socKwh` is what is stored at its start. Levels arrive set to self-consumption
   * (store surplus, serve load, never buy, never sell).
   */
  plan(from: number, socKwh: number, levels: Levels): number;
}

/**
 * What a strategy is for: `baseline` runs the home without its plant (no standby, no inverter limit), `rule` is what a
 * home can run, `settings` what its controller can be told, `yardstick` measures what is possible, `bound` is the best in
 * hindsight.
 */
export type StrategyRole = 'baseline' | 'rule' | 'settings' | 'yardstick' | 'bound';

/**
 * A way to run a battery. Users may pass their own, under a name that is none of the library's. Strategies are told apart
 * by the object and by {@link Strategy.role}; the name is for people.
 */
export interface Strategy {
  readonly name: string;
  /** `causal`: decides from the past, the calendar and published prices alone, which the runner enforces. */
  readonly knowledge: 'causal' | 'foresight';
  /**
   * What it is for. Yours may be a `rule`, which a home can run, or a `yardstick`, which measures what is possible and is
   * no promise: shown, never the headline or what pays the battery back. The other roles are the library's own.
   * @defaultValue `yardstick` with foresight, else `rule`
   */
  readonly role?: StrategyRole;
  /** Whether it plans no cycle that earns less than it wears off the battery. */
  readonly countsWear?: boolean;
  /** Begins a run. Keep the view: it fills up as the run goes on. */
  begin(view: StrategyView): Planner;
}
