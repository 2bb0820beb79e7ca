import { expect, test } from 'vitest';
import { withoutPartPayments, withoutPayments } from '../../../packages/core/src/tariff/once.ts';

const days = { start: '2026-03-01', end: '2026-03-31' };
const paid = { start: '2026-04-10', end: '2026-04-10' };
const rows = [
  { ...days, total: 60 },
  { ...days, total: 45.5 },
  { ...days, total: -10, kind: 'credit' as const },
];

test.each([
  ['the sum of the rows of a bill', -95.5],
  ['that of its charges, its credit being kept', -105.5],
])('an amount below zero that is %s is its payment', (_, total) => {
  expect(withoutPayments([...rows, { ...paid, total }]).bills).toEqual(rows);
});

test('one that is neither stays', () => {
  const bills = [...rows, { ...paid, total: -14.5 }];
  expect(withoutPayments(bills).bills).toEqual(bills);
});

test.each([0.6, 1, 60])('what was paid in part of a bill of %d is left out, and its charge stays', (charge) => {
  const bill = { ...days, total: charge };
  const reckoned = (bills: readonly (typeof bill)[]) => bills.map((one) => ({ bill: one, own: { total: charge } }));
  const told = withoutPartPayments([bill, { ...days, total: -0.5 * charge }], reckoned as never);
  expect(told.bills).toEqual([bill]);
  // Where the sum of both is what was reckoned, it is a credit.
  const halves = (bills: readonly (typeof bill)[]) => bills.map((one) => ({ bill: one, own: { total: 0.5 * charge } }));
  expect(withoutPartPayments([bill, { ...days, total: -0.5 * charge }], halves as never).bills).toHaveLength(2);
});
