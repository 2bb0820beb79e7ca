import { billingPeriods, dateOfCivilDay, formatDate, makeAxis } from '@duskbank/core/axis';
import { expect, test } from 'vitest';

const axis = makeAxis({ startEpochMs: Date.UTC(2024, 0, 15), stepMinutes: 60, intervals: 24 * 80, zone: 'Etc/UTC' });
const starts = (rule: Parameters<typeof billingPeriods>[1]) =>
  billingPeriods(axis, rule).map(({ startDay }) => formatDate(dateOfCivilDay(startDay)));

test('by the month, periods begin on its first day', () => {
  expect(starts({ by: 'calendar-month' })).toEqual(['2024-01-01', '2024-02-01', '2024-03-01', '2024-04-01']);
});

test('by a day of the month, periods begin on it, or on the last day of a shorter month', () => {
  expect(starts({ by: 'cycle-day', day: 20 })).toEqual(['2023-12-20', '2024-01-20', '2024-02-20', '2024-03-20']);
  expect(starts({ by: 'cycle-day', day: 31 })).toEqual(['2023-12-31', '2024-01-31', '2024-02-29', '2024-03-31']);
});

test('data that begin on the day of the cycle begin a period, not the last day of the one before', () => {
  const on20 = makeAxis({ startEpochMs: Date.UTC(2024, 0, 20), stepMinutes: 60, intervals: 24 * 40, zone: 'Etc/UTC' });
  const spans = billingPeriods(on20, { by: 'cycle-day', day: 20 });
  expect(spans.map(({ startDay, endDay }) => [startDay, endDay].map((day) => formatDate(dateOfCivilDay(day))))).toEqual(
    [
      ['2024-01-20', '2024-02-19'],
      ['2024-02-20', '2024-03-19'],
    ],
  );
});

test('a day of which half or more is on the axis is covered, at either end', () => {
  const ends = (startHour: number, hours: number) => {
    const part = { startEpochMs: Date.UTC(2024, 0, 15, startHour), stepMinutes: 60, intervals: hours, zone: 'Etc/UTC' };
    const { coveredStart, coveredEnd } = billingPeriods(makeAxis(part), { by: 'calendar-month' })[0]!;
    return [coveredStart, coveredEnd].map((day) => dateOfCivilDay(day).dayOfMonth);
  };
  // From noon of the 15th to noon of the 18th, and an hour less on either side.
  expect(ends(12, 72)).toEqual([15, 18]);
  expect(ends(13, 71)).toEqual([16, 18]);
  expect(ends(12, 71)).toEqual([15, 17]);
});
