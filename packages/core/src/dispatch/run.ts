import { anything, check, isMadeHere, optional, type Rule, record, report } from '../input/door.ts';
import type { PlantOnAxis } from '../plant/index.ts';
import { aPlantOnAxis, checkApart, flowsOfLength, levelsOfLength } from '../plant/inside.ts';
import { aCompiledTariff } from '../tariff/inside.ts';
import { aHome, arraysOf, type Home } from './home.ts';
import { playStrategy, type RunOptions, type StrategyRun } from './play.ts';
import { aStrategy } from './rules.ts';
import type { Strategy } from './strategy.ts';

/**
 * Runs a strategy through the plant, over every interval of the home's axis.
 *
 * A causal strategy is handed arrays that hold NaN wherever it may not look; each value appears once the run has
 * passed it (a day-ahead price once it is published). So it can't use the future even by mistake. A strategy that isn't
 * the library's own sees copies, so that it can't change the run either.
 *
 * @throws InputError on a home or a strategy that is not sound; on arrays to be overwritten that share memory (`shared-array`); where the strategy plans an empty block (`empty-block`), or
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
  checkApart(options, [...arraysOf(home), options.onAxis, options.onAxis?.source]);
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
