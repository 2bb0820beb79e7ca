import type { Axis } from '@duskbank/core/axis';
import type { Home, Strategy, StrategyRun, StrategyView } from '@duskbank/core/dispatch';
import type { IntervalData, IntervalSeries } from '@duskbank/core/meter';
import type { Flows, Levels, Plant } from '@duskbank/core/plant';
import type { Site } from '@duskbank/core/site';
import type { CompareReport } from '@duskbank/core/study';
import type { Bill, CompiledTariff } from '@duskbank/core/tariff';
import { expectTypeOf, test } from 'vitest';

// What other programs lean on: a change here is a change for them. Checked by the type checker; the test runs trivially.
test('the public types keep their promises', () => {
  expectTypeOf<Home['loadKwh']>().toEqualTypeOf<Float64Array>();
  expectTypeOf<Flows['socKwh']>().toEqualTypeOf<Float64Array>();
  expectTypeOf<Levels>().toHaveProperty('importCapKw');
  expectTypeOf<Plant['floorKwh']>().toEqualTypeOf<number | Float64Array>();
  expectTypeOf<Strategy['knowledge']>().toEqualTypeOf<'causal' | 'foresight'>();
  expectTypeOf<StrategyRun['flows']>().toEqualTypeOf<Flows>();
  expectTypeOf<IntervalData['series']>().toEqualTypeOf<IntervalSeries | undefined>();
  expectTypeOf<CompareReport['strategies'][number]['savings']>().toEqualTypeOf<number | null>();
  expectTypeOf<CompareReport['format']>().toEqualTypeOf<'duskbank.compare/1'>();
  expectTypeOf<Bill['total']>().toBeNumber();
  expectTypeOf<CompiledTariff['axis']>().toEqualTypeOf<Axis>();
  expectTypeOf<NonNullable<Site['plant']>['battery']['units']>().toBeNumber();
});

test('inputs are read-only and a strategy must say what it knows', () => {
  const view = {} as StrategyView;
  // @ts-expect-error - the view belongs to the runner
  const replace = () => (view.loadKwh = new Float64Array(1));
  // @ts-expect-error - `knowledge` is missing: whether it may look ahead is no default
  const nameless: Strategy = { name: 'mine', begin: () => ({ plan: (from) => from + 1 }) };
  // @ts-expect-error - a plan returns where it ends
  const endless: Strategy = { name: 'mine', knowledge: 'causal', begin: () => ({ plan: () => undefined }) };
  expectTypeOf(replace).toBeFunction();
  expectTypeOf([nameless, endless]).toBeArray();
});
