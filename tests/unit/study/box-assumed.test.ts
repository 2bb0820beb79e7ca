import { compare, type StrategyResult } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { compareText } from '../../../packages/cli/src/render/compare.ts';
import { twoPriceHome } from '../../support/two-price-home.ts';

const report = compare(twoPriceHome({ evening: () => 2 }));

test('without a stated box the headline is of the plainest one’s sheet, which is a row and said', () => {
  const row = report.strategies.find(({ strategy }) => strategy === 'settings')!;
  expect(report.headline).toMatchObject({ strategy: 'settings', savings: row.savings });
  expect(report.payback).toMatchObject({ strategy: 'settings' });
  const told = report.warnings.find(({ code }) => code === 'controller-assumed')!;
  expect(told.data).toEqual({ windowsPerDay: 1, clockMinutes: 30 });
  expect(told.message).toContain('1 clock window a day');
  const text = compareText(report);
  expect(text).toMatch(/^Run as "settings", the battery saves/m);
  expect(text.replaceAll('\n', ' ')).toContain('for the plainest box, since none is stated');
});

test('rows that print the same figures are one, and name the others', () => {
  const twin = (name: string): StrategyResult => ({ ...report.strategies[2]!, strategy: name });
  const shown = (strategies: readonly StrategyResult[]) => compareText({ ...report, headline: null, strategies });
  const names = (text: string) => text.split('\n').filter((line) => /^(first|second|third|other) /.test(line));
  const text = shown([twin('first'), { ...report.strategies[1]!, strategy: 'other' }, twin('second'), twin('third')]);
  expect(names(text).map((line) => line.split(' ')[0])).toEqual(['first', 'other']);
  expect(text).toMatch(/^first .*\n {2}and so do second, third\nother /m);
  expect(shown([twin('first'), twin('second')])).toContain('  and so does second');
});
