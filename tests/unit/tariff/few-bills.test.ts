import { makeAxis } from '@duskbank/core/axis';
import { type ActualBill, billTariff, compileTariff, reconcileBills } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import { randomFlows, tariffFixtures } from '../../support/tariff-fixtures.ts';

// How few bills are enough for what their amounts are taken for: one fewer could be chance.

const axis = makeAxis({
  startEpochMs: Date.UTC(2026, 0, 1, 7),
  stepMinutes: 60,
  intervals: 8760,
  zone: 'America/Denver',
});
const { tariff, options } = tariffFixtures().find(({ name }) => name === 'baseline-blocks')!;
const flows = randomFlows(11, axis.intervals, axis.stepMinutes);
const compiled = compileTariff(tariff, axis, options);
const ours: ActualBill[] = billTariff(compiled, flows)
  .periods.filter((_, p) => compiled.periods[p]!.days === compiled.periods[p]!.fullDays)
  .map(({ start, end, total }) => ({ start, end, total }));
const codes = (bills: readonly ActualBill[]) =>
  reconcileBills(tariff, axis, options, flows, bills).causes.map(({ code }) => code);

/** The amounts of each so many bills beside each other: their sum, or its equal part, in every row. */
const several = (rows: number, count: number, part: number) =>
  ours.slice(0, count).map((bill, k, all) => {
    const first = k - (k % rows);
    const sum = all.slice(first, first + rows).reduce((total, one) => total + one.total, 0);
    return { ...bill, total: Math.round((100 * sum) / part) / 100 };
  });

describe('rows of two or three periods', () => {
  test.each([
    [2, 4, 2, true],
    [2, 4, 1, true],
    [2, 6, 2, true],
    [3, 6, 3, true],
    [3, 6, 1, true],
    [3, 9, 3, true],
    // One amount for all is a plan.
    [2, 2, 2, false],
    [3, 3, 3, false],
    // A row is left over.
    [2, 5, 2, false],
    [3, 7, 3, false],
  ])('of %d, %d bills, each 1/%d of the sum: %s', (rows, count, part, are) => {
    expect(codes(several(rows, count, part)).includes('amounts-of-several')).toBe(are);
  });
});

describe('amounts of another bill', () => {
  const moved = (count: number, by: number) =>
    ours.slice(1, count + 1).map((bill, k) => ({ ...bill, total: ours[k + 1 + by]!.total }));
  test.each([
    [4, -1, 'before'],
    [4, 1, 'after'],
    [5, -1, 'before'],
  ])('of %d bills moved by %d', (count, by, from) => {
    const causes = reconcileBills(tariff, axis, options, flows, moved(count, by)).causes;
    expect(causes.find(({ code }) => code === 'amounts-moved')?.data).toMatchObject({ bills: count - 1, from });
  });
  test.each([-1, 1])('not of three moved by %d', (by) => {
    expect(codes(moved(3, by))).not.toContain('amounts-moved');
  });

  const exchanged = (count: number) =>
    ours.slice(0, count).map((bill, k) => (k < 2 ? { ...bill, total: ours[1 - k]!.total } : bill));
  test.each([
    [2, false],
    [3, true],
    [4, true],
  ])('of %d bills the first two exchanged: %s', (count, are) => {
    expect(codes(exchanged(count)).includes('amounts-exchanged')).toBe(are);
  });
});
