import { makeAxis } from '@duskbank/core/axis';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';

const axis = makeAxis({
  startEpochMs: Date.UTC(2025, 0, 1, 7),
  stepMinutes: 60,
  intervals: 24,
  zone: 'America/Denver',
});
const tariff = parseTariff({
  format: 'duskbank.tariff/1',
  name: 'Flat',
  currency: 'USD',
  windows: [{ name: 'flat', otherwise: true, pricePerKwh: 0.2 }],
  adjustments: [{ name: 'Discount', percent: -20, on: 'energy', programme: 'low-income' }],
  export: { kind: 'none' },
});
const told = (programmes: string[]) =>
  compileTariff(tariff, axis, { account: { programmes } }).warnings.filter(({ code }) => code === 'programme-unknown');

test('a programme of the account that the tariff doesn’t know is told, with those that it knows: a misspelt one would be billed as none', () => {
  expect(told(['low-income'])).toEqual([]);
  const [warning, ...more] = told(['low-income', 'low income']);
  expect(more).toEqual([]);
  expect(warning).toMatchObject({
    severity: 'warning',
    data: { programme: 'low income', tariff: 'Flat', known: ['low-income'] },
    where: { path: ['account', 'programmes'] },
  });
  expect(warning!.message).toContain('(the tariff knows "low-income")');
});
