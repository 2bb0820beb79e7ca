// A holiday "on the fifth Monday" is one of the months that have five.
import { civilDayOfDate, dateOfCivilDay, formatDate, holidayDays } from '@duskbank/core/axis';
import { expect, test } from 'vitest';

const fifthMonday = (month: number) =>
  [
    ...holidayDays(
      [{ name: 'Market day', on: { kind: 'nth-weekday', nth: 5, weekday: 1, month }, observed: 'none' }],
      civilDayOfDate('2026-01-01')!,
      civilDayOfDate('2026-12-31')!,
    ).keys(),
  ].map((day) => formatDate(dateOfCivilDay(day)));

test('a month without a fifth has no such day: none slips into the next month', () => {
  // March 2026 begins on a Sunday, February too.
  expect(fifthMonday(3)).toEqual(['2026-03-30']);
  expect(fifthMonday(2)).toEqual([]);
});
