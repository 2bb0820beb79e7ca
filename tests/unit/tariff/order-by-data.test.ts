import { parseActualBills } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';

// 3 February to 4 March, or 2 March to 3 April: the days of the data tell which, where they touch one of the two alone.
const text = 'start,end,total\n03/02/2026,04/03/2026,80\n';
const DAY_FIRST = { start: '2026-02-03', end: '2026-03-04' };
const MONTH_FIRST = { start: '2026-03-02', end: '2026-04-03' };

describe('day and month of a bill, by the days of the data', () => {
  test.each([
    ['2025-03-01', '2026-02-02', undefined],
    ['2025-03-01', '2026-02-03', DAY_FIRST],
    ['2025-03-01', '2026-03-01', DAY_FIRST],
    ['2025-03-01', '2026-03-02', undefined],
    ['2026-03-04', '2026-12-31', undefined],
    ['2026-03-05', '2026-12-31', MONTH_FIRST],
    ['2026-04-03', '2026-12-31', MONTH_FIRST],
    ['2026-04-04', '2026-12-31', undefined],
  ])('%s to %s', (firstDay, lastDay, dates) => {
    const read = () => parseActualBills(text, 'bills.csv', { firstDay, lastDay }).bills;
    if (dates === undefined) expect(read).toThrow(/can’t be told apart/);
    else expect(read()).toMatchObject([dates]);
  });
});
