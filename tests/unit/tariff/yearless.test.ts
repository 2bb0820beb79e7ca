import { InputError } from '@duskbank/core/input';
import { expect, test } from 'vitest';
import { withYears } from '../../../packages/core/src/tariff/yearless-dates.ts';

const within = { firstDay: '2025-07-01', lastDay: '2026-06-30' };

test('a bill without its year has 100 days at the most', () => {
  expect(withYears([['1 January', '10 April']], 'bills.csv', within)?.ends).toEqual([['2026-01-01', '2026-04-10']]);
  expect(() => withYears([['1 January', '11 April']], 'bills.csv', within)).toThrow(InputError);
});

test('rows half a year apart stand in the order of time', () => {
  const ends = [
    ['July', 'July'],
    ['January', 'January'],
  ] as const;
  expect(withYears(ends, 'bills.csv', within)?.ends).toEqual([
    ['2025-07-01', '2025-07-31'],
    ['2026-01-01', '2026-01-31'],
  ]);
});
