// Kept answers: see tests/support/kept.ts.
import {
  clearSkyScaled,
  type Forecaster,
  likeDayBlend,
  likeDayQuantile,
  persistence,
  rolling,
  runStrategy,
  sameWeekday,
  scoreForecast,
} from '@duskbank/core/dispatch';
import { billTotal } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { anyHome, openService, plainPlant, seededHome, windowTariff } from '../../support/homes.ts';
import { kept } from '../../support/kept.ts';
import { KEPT_HOMES } from '../../support/kept-homes.ts';

const WAYS = {
  hourly: {},
  'every four hours, a day ahead': { everyHours: 4, horizonHours: 24, scenarios: 3 },
  'each step, one future': { everyHours: 0.25, horizonHours: 36, scenarios: 1 },
  'with wear': { everyHours: 2, wearPerKwh: 0.07, scenarios: 4 },
  'told the sun': { everyHours: 3, scenarios: 3, solarForecast: { error: 0.25, seed: 3 } },
};

test.each(
  KEPT_HOMES.flatMap(([name, home], k) =>
    Object.entries(WAYS)
      .filter((_, way) => way === 0 || way === 1 + (k % 4))
      .map(([way, options]) => [way, name, home, options] as const),
  ),
)('%s on %s', (_way, _name, home, options) => {
  const { flows } = runStrategy(rolling(options), home);
  expect(kept({ bill: billTotal(home.tariff, flows), flows: { ...flows } }, 2)).toMatchSnapshot();
});

test.each(fc.sample(anyHome, { seed: 20_260_505, numRuns: 24 }).map((home, k) => [k, home] as const))(
  'home %d of any kind',
  (k, home) => {
    const { flows } = runStrategy(rolling(Object.values(WAYS)[k % 5]!), home);
    expect(kept({ bill: billTotal(home.tariff, flows), flows })).toMatchSnapshot();
  },
);

test('the share of the load that circuits carry is that of the last four weeks', () => {
  const shape = {
    days: 44,
    stepMinutes: 60,
    startEpochMs: Date.UTC(2026, 1, 2, 7),
    zone: 'America/Denver',
    solarKw: 3,
  };
  const axis = seededHome(77, shape, plainPlant({}), openService, windowTariff).axis;
  // A third of what the meter sees for two weeks, then nearly all of it.
  const reach = Float64Array.from({ length: axis.intervals }, (_, i) => (i < 14 * 24 ? 0.15 : 2));
  const home = seededHome(77, shape, { ...plainPlant({}), reach }, openService, windowTariff);
  const { flows } = runStrategy(rolling({ everyHours: 6, scenarios: 2 }), home);
  expect(kept({ bill: billTotal(home.tariff, flows), flows: { ...flows } }, 2)).toMatchSnapshot();
});

const FORECASTERS: readonly Forecaster[] = [
  persistence,
  sameWeekday,
  likeDayBlend,
  clearSkyScaled,
  likeDayQuantile(0.5, 3),
  likeDayQuantile(0.9, 7),
];

test.each(KEPT_HOMES)('forecasts of %s', (_name, { axis, loadKwh, solarKwh }) => {
  const told = Object.fromEntries(
    FORECASTERS.map((forecaster, k) => [
      `${k} ${forecaster.name}`,
      {
        load: scoreForecast(axis, loadKwh, forecaster, 0.7),
        sun: scoreForecast(axis, solarKwh, forecaster),
        days: [1, 2, 4].map((day) => forecaster.forecast(axis, loadKwh, day)),
      },
    ]),
  );
  expect(kept(told)).toMatchSnapshot();
});
