// Kept answers: see tests/support/kept.ts.
import {
  followPrices,
  followSheet,
  type Home,
  hold,
  likeDays,
  none,
  peakShave,
  publishedUntil,
  runStrategy,
  type SettingsSheet,
  selfConsumption,
  windowFill,
} from '@duskbank/core/dispatch';
import { billTotal } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { anyHome, erratic } from '../../support/homes.ts';
import { kept } from '../../support/kept.ts';
import { KEPT_HOMES } from '../../support/kept-homes.ts';

const SHEET: SettingsSheet = {
  reservePercent: 15,
  dated: [
    { reservePercent: 60, when: { months: [1, 10], leadHours: 24 } },
    { reservePercent: 90, when: { from: '2026-03-05T12:00', to: '2026-03-06T09:00' } },
  ],
  gridChargeKw: 2.5,
  schedules: [
    {
      months: [1, 2, 3, 4, 5],
      days: 'weekdays',
      charge: { fromMinute: 1380, toMinute: 330 },
      chargeToPercent: 80,
      discharge: { fromMinute: 960, toMinute: 1260 },
    },
    {
      months: [1, 2, 3, 4, 5],
      days: 'weekends',
      charge: { fromMinute: 60, toMinute: 300 },
      chargeToPercent: 40,
      discharge: null,
    },
    {
      months: [6, 7, 8, 9, 10, 11, 12],
      days: 'every day',
      charge: null,
      chargeToPercent: 0,
      discharge: { fromMinute: 1020, toMinute: 120 },
    },
  ],
};

const STRATEGIES = [
  none,
  hold,
  selfConsumption,
  windowFill,
  peakShave({ targetKw: 1.2 }),
  peakShave(),
  followPrices(),
  followSheet(SHEET),
];

/** What a strategy does to a home: the bill, energy through the battery, and each series. */
function run(home: Home, strategy: (typeof STRATEGIES)[number]) {
  const { flows } = runStrategy(strategy, home);
  return { bill: billTotal(home.tariff, flows), flows: { ...flows } };
}

const RUNS = KEPT_HOMES.flatMap(([name, home]) =>
  STRATEGIES.map((strategy, k) => [`${k} ${strategy.name}`, name, home, strategy] as const),
);

test.each(RUNS)('%s on %s', (_rule, _name, home, strategy) => {
  expect(kept(run(home, strategy), 1)).toMatchSnapshot();
});

const ANY = fc.sample(anyHome, { seed: 20_260_404, numRuns: 30 }).map((home, k) => [k, home] as const);

test.each(ANY)('rules on home %d of any kind', (k, home) => {
  const told = Object.fromEntries(
    [...STRATEGIES, erratic(k)].map((strategy, s) => [`${s} ${strategy.name}`, run(home, strategy)]),
  );
  expect(kept(told)).toMatchSnapshot();
});

test('prices that are published, and days alike', () => {
  const told = Object.fromEntries(
    KEPT_HOMES.map(([name, { axis }]) => [
      name,
      {
        published: Array.from({ length: axis.intervals }, (_, i) => publishedUntil(axis, i)),
        alike: [0, 1, 3, 4].map((day) => likeDays(axis, day, day, 3)),
      },
    ]),
  );
  expect(kept(told)).toMatchSnapshot();
});
