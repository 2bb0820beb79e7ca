// Kept answers: see tests/support/kept.ts.
import { nearestName } from '@duskbank/core/input';
import { expect, test } from 'vitest';
import { kept } from '../../support/kept.ts';

const KNOWN = ['a', 'no', 'kWh', 'zone', 'price', 'tariff', 'export', 'usableKwh', 'pricePerKwh', 'importLimitKw'];
const TYPED = [
  'b',
  'x',
  'on',
  'n',
  'kwh',
  'kW',
  'znoe',
  'prcie',
  'pr',
  'tarif',
  'traiff',
  'epxort',
  'usable',
  'importLimit',
  'zzzzz',
  'pricePerKwH',
  'ab',
  'abc',
];

test('the known name that is nearest to what was typed', () => {
  const told = TYPED.map((typed) => [
    typed,
    ...KNOWN.map((name) => nearestName(typed, [name]) ?? '-'),
    nearestName(typed, KNOWN) ?? '-',
  ]);
  expect(kept(Object.fromEntries(told.map(([typed, ...near]) => [typed, near.join(' ')])))).toMatchSnapshot();
});
