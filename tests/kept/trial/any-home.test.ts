// Kept answers: see tests/support/kept.ts.
import {
  followPrices,
  hold,
  none,
  optimum,
  peakShave,
  rolling,
  searchedSettings,
  selfConsumption,
  windowFill,
} from '@duskbank/core/dispatch';
import { evaluate, makeCase, type OutcomeParts, withLoad, withPlant, withTariff } from '@duskbank/core/trial';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { anyHome, windowTariff } from '../../support/homes.ts';
import { keptOf } from '../../support/kept.ts';
import { KEPT_HOMES } from '../../support/kept-homes.ts';
import { loadedSite } from '../../support/kept-sites.ts';

const PARTS: readonly (keyof OutcomeParts)[] = ['flows', 'bill', 'boughtOnce', 'energy', 'reserve', 'judged'];
const CONTROLLER = { windowsPerDay: 1, seasons: 1, weekends: false, clockMinutes: 60 } as const;
const STRATEGIES = [none, hold, selfConsumption, windowFill, peakShave(), followPrices(), rolling({ everyHours: 6 })];

/** Every switch of a plant: cells too cold at first, by night or never, draws of its own, floors that move. */
test.each(fc.sample(anyHome, { seed: 20_261_212, numRuns: 48 }).map((home, k) => [k, home] as const))(
  'home %d of any kind, and what strategies come to',
  async (k, home) => {
    expect(
      await keptOf(
        () => {
          const of = makeCase(home);
          const strategies = [...STRATEGIES, ...(k % 3 === 0 ? [searchedSettings(CONTROLLER)] : [])];
          const runs = Object.fromEntries(
            strategies.map((strategy) => [strategy.name, evaluate(of, strategy, [...PARTS, 'sheets'])]),
          );
          const dearer = withTariff(of, windowTariff(home.axis, { peak: 0.9, sale: 0.1 }));
          const fuller = withPlant(of, { ...home.plant, startKwh: home.plant.capacityKwh });
          const hungrier = withLoad(
            of,
            home.loadKwh.map((kwh) => 1.5 * kwh),
          );
          return {
            ...runs,
            others: [dearer, fuller, hungrier].map((one) =>
              evaluate(one, windowFill, ['bill', 'boughtOnce', 'energy']),
            ),
          };
        },
        k < 16 ? 3 : 1,
      ),
    ).toMatchSnapshot();
  },
);

test.each(KEPT_HOMES)('what is bought once, and how near the cheapest run comes, on %s', async (_name, home) => {
  const of = makeCase(home);
  expect(
    await keptOf(
      () =>
        [hold, windowFill, optimum()].map((strategy) =>
          evaluate(of, strategy, ['bill', 'boughtOnce', 'lines', 'bound', 'energy']),
        ),
      2,
    ),
  ).toMatchSnapshot();
});

/** Settings found and judged on sites, with what a medical circuit or an island changes of them. */
test.each([0, 4, 7, 9, 13, 22])('settings on site %d', async (seed) => {
  expect(
    await keptOf(async () => {
      const { case: home } = await loadedSite(seed);
      return evaluate(home, searchedSettings({ ...CONTROLLER, windowsPerDay: 2 }), [
        ...PARTS,
        'sheets',
        'lines',
        ...(home.island === undefined ? [] : (['backupHours'] as const)),
      ]);
    }, 2),
  ).toMatchSnapshot();
});
