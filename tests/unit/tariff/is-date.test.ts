import { isDate } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';

test('isDate says no to what the calendar has not, and never throws', () => {
  for (const date of ['2026-12-01', '2024-02-29', '2026-01-31']) expect(isDate(date), date).toBe(true);
  for (const date of [
    '2026-13-01',
    '2026-00-10',
    '2026-01-32',
    '2026-01-00',
    '2026-02-29',
    '2026-04-31',
    '20260101',
    '',
  ])
    expect(isDate(date), date).toBe(false);
  for (const none of [5, null, undefined]) expect(isDate(none as never)).toBe(false);
});
