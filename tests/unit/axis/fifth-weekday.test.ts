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

test.each(Array.from({ length: 12 }, (_, m) => m + 1))(
  'the last of each weekday of month %d lies in its last seven days',
  (month) => {
    for (const weekday of [1, 2, 3, 4, 5, 6, 7] as const) {
      const last = [
        ...holidayDays(
          [{ name: 'Last', on: { kind: 'nth-weekday', nth: -1, weekday, month }, observed: 'none' }],
          civilDayOfDate('2024-01-01')!,
          civilDayOfDate('2026-12-31')!,
        ).keys(),
      ].map((day) => new Date(day * 86_400_000));
      expect(last.map((date) => date.getUTCFullYear())).toEqual([2024, 2025, 2026]);
      for (const date of last) {
        expect([date.getUTCMonth() + 1, date.getUTCDay() || 7]).toEqual([month, weekday]);
        expect(new Date(date.getTime() + 7 * 86_400_000).getUTCMonth() + 1).not.toBe(month);
      }
    }
  },
);
