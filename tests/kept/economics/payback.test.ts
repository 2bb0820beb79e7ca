// Kept answers: see tests/support/kept.ts.
import { type Economics, type SavingsStretch, simplePayback, wearOf } from '@duskbank/core/economics';
import { expect, test } from 'vitest';
import { keptOf } from '../../support/kept.ts';

const PRICES: Record<string, Economics> = {
  'no life': { price: 9000, covers: 'two units' },
  rebate: { price: 9000, covers: 'two units', rebate: 2700 },
  'all of it rebated': { price: 900, covers: 'a unit', rebate: 900 },
  cycles: { price: 9000, covers: 'two units', rebate: 500, cycleLife: 3000 },
  warranty: { price: 9000, covers: 'two units', warrantyYears: 10 },
  calendar: { price: 9000, covers: 'two units', calendarYears: 12, calendarYearsFull: 8 },
  'everything stated': {
    price: 9000,
    covers: 'two units',
    rebate: 1000,
    batteryPrice: 6000,
    cycleLife: 4500,
    warrantyYears: 10,
    calendarYears: 15,
  },
};

const base = { tariff: 'A', strategy: 'window' };
const from = '2026-01-01';
const STRETCHES: Record<string, SavingsStretch[]> = {
  'for ever': [{ ...base, from, until: null, savingsPerYear: 1100, cyclesPerYear: 300 }],
  'slowly, for ever': [{ ...base, from, until: null, savingsPerYear: 350, cyclesPerYear: 150 }],
  'hardly at all': [{ ...base, from, until: null, savingsPerYear: 1, cyclesPerYear: 0 }],
  'at a loss': [{ ...base, from, until: null, savingsPerYear: -80, cyclesPerYear: 200 }],
  'a tariff that ends': [{ ...base, from, until: '2028-06-30', savingsPerYear: 1100 }],
  'another tariff after it': [
    { ...base, from, until: '2028-06-30', savingsPerYear: 1500, cyclesPerYear: 320 },
    { ...base, tariff: 'B', from: '2028-07-01', until: null, savingsPerYear: 500, cyclesPerYear: 250 },
  ],
  'three, one of them at a loss': [
    { ...base, from, until: '2026-12-31', savingsPerYear: 2500, cyclesPerYear: 350 },
    { ...base, tariff: 'B', from: '2027-01-01', until: '2027-12-31', savingsPerYear: -200, cyclesPerYear: 350 },
    { ...base, tariff: 'C', from: '2028-01-01', until: '2036-02-29', savingsPerYear: 700, cyclesPerYear: 350 },
  ],
  none: [],
};

const CASES = Object.entries(PRICES).flatMap(([price, economics]) =>
  Object.entries(STRETCHES).map(([name, stretches]) => [price, name, economics, stretches] as const),
);

test.each(CASES)('%s, saved %s', async (_price, _name, economics, stretches) => {
  expect(await keptOf(() => simplePayback(economics, stretches, 'the home as metered'), 2)).toMatchSnapshot();
});

test.each(Object.entries(PRICES))('wear where the price has %s', async (_name, economics) => {
  expect(await keptOf(() => wearOf(economics, { capacityKwh: 13.5, dischargeEfficiency: 0.93 }), 2)).toMatchSnapshot();
});
