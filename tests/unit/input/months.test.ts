import { monthsInWords } from '@duskbank/core/input';
import { expect, test } from 'vitest';

test.each([
  [[1, 2, 3, 10, 11, 12], 'Oct–Mar'],
  [[10, 11, 12, 1, 2, 3], 'Oct–Mar'],
  [[6, 7, 8, 9], 'Jun–Sep'],
  [[3], 'Mar'],
  [[1, 3, 4, 12], 'Mar–Apr, Dec–Jan'],
  [[1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12], 'all year'],
  [[], ''],
])('months %j are %s', (months, words) => {
  expect(monthsInWords(months)).toBe(words);
});
