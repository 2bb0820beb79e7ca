import { makeAxis } from '@duskbank/core/axis';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';

// One day of hours, flat windows: the counts are plain.
const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 24, zone: 'Etc/UTC' });
const compiled = (rates: object) =>
  compileTariff(parseTariff({ format: 'duskbank.tariff/1', name: 'Plain', currency: 'USD', ...rates }), axis);
const windows = [
  { name: 'on-peak', from: '16:00', to: '20:00', pricePerKwh: 0.4 },
  { name: 'day', otherwise: true, pricePerKwh: 0.2 },
];

describe('where the best schedule is no convex problem, a warning says in how many intervals and what follows', () => {
  test('export above import in four hours of the day', () => {
    const { warnings } = compiled({
      windows,
      export: { kind: 'net-billing', byWindow: { 'on-peak': 0.45, day: 0.1 } },
    });
    expect(warnings.map((warning) => warning.code)).toEqual(['export-above-import']);
    expect(warnings[0]!.message).toMatch(/^in 4 intervals/);
    expect(warnings[0]!.message).toMatch(/strategies run as always.*proven bound with a gap/);
  });

  test('a price below zero in six hours', () => {
    const { warnings } = compiled({
      windows: [
        { name: 'paid', from: '00:00', to: '06:00', pricePerKwh: -0.02 },
        { name: 'day', otherwise: true, pricePerKwh: 0.2 },
      ],
      export: { kind: 'net-billing', pricePerKwh: -0.05 },
    });
    expect(warnings.map((warning) => warning.code)).toEqual(['negative-price']);
    // The export price is below zero in all 24.
    expect(warnings[0]!.message).toMatch(/^in 24 intervals/);
  });

  test('nothing is said of plain prices', () => {
    expect(compiled({ windows, export: { kind: 'net-billing', pricePerKwh: 0.1 } }).warnings).toEqual([]);
  });
});

describe('terms say whether they are convex', () => {
  const terms = (rates: object) =>
    compiled({ export: { kind: 'none' }, ...rates }).terms.map((term) => [term.kind, term.convex]);
  const blocks = (first: number, second: number) => ({
    energy: [{ name: 'Energy', blocks: [{ upToKwh: 10, pricePerKwh: first }, { pricePerKwh: second }] }],
  });
  const flat = { energy: [{ name: 'Energy', pricePerKwh: 0.2 }] };
  const steps = [{ upToKw: 5, amount: 10 }, { amount: 20 }];

  test('rising blocks are, falling blocks are not', () => {
    expect(terms(blocks(0.1, 0.2))).toContainEqual(['tier', true]);
    expect(terms(blocks(0.2, 0.1))).toContainEqual(['tier', false]);
  });
  test('a price on the maximum is, capacity steps are not', () => {
    expect(terms({ ...flat, demand: [{ name: 'Demand', pricePerKw: 9 }] })).toContainEqual(['demand', true]);
    expect(terms({ ...flat, demand: [{ name: 'Capacity', steps }] })).toContainEqual(['demand', false]);
  });
  test('a minimum bill is where the terms under it are', () => {
    expect(terms({ ...blocks(0.1, 0.2), minimumBill: { amount: 30 } })).toContainEqual(['minimum', true]);
    expect(terms({ ...blocks(0.2, 0.1), minimumBill: { amount: 30 } })).toContainEqual(['minimum', false]);
  });
});
