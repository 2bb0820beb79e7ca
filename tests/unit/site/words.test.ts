import { checkDocument } from '@duskbank/core/input';
import { siteSchema } from '@duskbank/core/site';
import { expect, test } from 'vitest';
import { HOME_WORDS } from '../../../packages/core/src/words/home.ts';

test('what filling gaps added is told without what is zero', () => {
  const told = (importKwh: number, exportKwh: number) =>
    HOME_WORDS['gaps-filled']({ intervals: 16, importKwh, exportKwh });
  expect(told(0, 7.9)).toContain('like days: 7.9 kWh sold that');
  expect(told(3.21, 7.9)).toContain('like days: 3.2 kWh bought and 7.9 kWh sold that');
  expect(told(3.21, 0.04)).toContain('like days: 3.2 kWh bought that');
  expect(told(0, 0)).not.toMatch(/\d kWh/);
});

test('that no estimate is in an on-peak window is told in words', () => {
  expect(HOME_WORDS['estimated-intervals']({ share: 0.00046, peakShare: 0 })).toBe(
    '0.046 % of intervals are estimated, none of them in an on-peak window',
  );
  expect(HOME_WORDS['estimated-intervals']({ share: 0.05, peakShare: 0.1 })).toContain('10 % of those in on-peak');
});

test('a blank of a starter file is told as one, with what goes there', () => {
  const checked = checkDocument(siteSchema, { format: 'duskbank.site/1', zone: null, name: null });
  const faults = checked.ok ? [] : checked.issues.filter(({ received }) => received === 'a blank');
  expect(faults.map(({ where, expected }) => [where.path, expected])).toEqual([
    [['name'], 'a text: fill it in'],
    [['zone'], 'a text: fill it in'],
  ]);
});
