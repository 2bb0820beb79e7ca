import { makeAxis } from '@duskbank/core/axis';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { slotsOf } from '../../../packages/core/src/dispatch/settings/candidates.ts';

/** A year that begins on 10 June, so that the data cut that month in two. */
const axis = makeAxis({
  startEpochMs: Date.UTC(2025, 5, 10, 6),
  intervals: 365 * 24,
  stepMinutes: 60,
  zone: 'America/Denver',
});
const SEASONS = [
  { name: 'summer', months: [5, 6, 7, 8, 9, 10] },
  { name: 'winter', months: [11, 12, 1, 2, 3, 4] },
];
const monthsOf = (rates: object) =>
  slotsOf(
    axis,
    compileTariff(
      parseTariff({
        format: 'duskbank.tariff/1',
        name: 'Two Seasons',
        currency: 'USD',
        export: { kind: 'none' },
        ...rates,
      }),
      axis,
    ),
    { windowsPerDay: 1, seasons: 2, weekends: false, clockMinutes: 30 },
  ).map(({ months }) => months.toSorted((a, b) => a - b).join(' '));

const PEAK = { name: 'peak', from: '16:00', to: '20:00' };
const flat = [
  { ...PEAK, pricePerKwh: 0.3 },
  { name: 'off', otherwise: true, pricePerKwh: 0.1 },
];

const perKw = (summer: number, winter: number) => ({
  seasons: SEASONS,
  windows: flat,
  demand: [
    { name: 'Summer', pricePerKw: summer, seasons: 'summer' },
    { name: 'Winter', pricePerKw: winter, seasons: 'winter' },
  ],
});

test('where the same hours are dear all year, seasons follow what a kW costs, a month that the data cut among them', () => {
  expect(monthsOf(perKw(13.5, 7.2))).toEqual(['5 6 7 8 9 10', '1 2 3 4 11 12']);
});

test('or what the dearest kWh costs over the cheapest', () => {
  const windows = (season: string, dear: number) => [
    { ...PEAK, name: `${season} peak`, seasons: season, pricePerKwh: dear },
    { name: `${season} off`, seasons: season, otherwise: true, pricePerKwh: 0.1 },
  ];
  expect(monthsOf({ seasons: SEASONS, windows: [...windows('summer', 0.4), ...windows('winter', 0.25)] })).toEqual([
    '5 6 7 8 9 10',
    '1 2 3 4 11 12',
  ]);
});

test('and halves of the year where neither differs, or by less than a tenth', () => {
  const halves = ['4 5 6 7 8 9', '1 2 3 10 11 12'];
  expect(monthsOf({ windows: flat })).toEqual(halves);
  expect(monthsOf(perKw(10.5, 10))).toEqual(halves);
});
