import { compare, type StrategyResult, settings } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { lastsLonger } from '../../../packages/core/src/study/settings-basis.ts';
import { twoPriceHome } from '../../support/two-price-home.ts';

interface Remark {
  readonly strategy: string;
  readonly hours: number;
  readonly headlineHours: number;
  readonly moreSavedPerYear: number;
}

/** A box without clock windows leaves the battery empty, since there is no sun; `hold` keeps it full. */
const home = (sumForHoursPerYear: number) =>
  twoPriceHome({
    evening: () => 1,
    plant: { controller: { windowsPerDay: 0 } },
    backup: { load: { share: 0.5 } },
    site: { dispatch: { sumForHoursPerYear } },
  });

describe('a row that keeps the lights on longer than the headline', () => {
  test('is named where it costs at most a tie more, with its hours and its money', () => {
    const report = compare(home(100));
    const row = (name: string) => report.strategies.find(({ strategy }) => strategy === name)!;
    const remark = report.warnings.find(({ code }) => code === 'row-lasts-longer')!;
    expect(report.headline!.strategy).toBe('settings');
    const { strategy, hours, headlineHours, moreSavedPerYear } = remark.data as unknown as Remark;
    expect(hours).toBe(row(strategy).backupHours!.p10);
    expect(hours).toBe(Math.max(...report.strategies.map(({ backupHours }) => backupHours?.p10 ?? 0)));
    expect(headlineHours).toBe(row('settings').backupHours!.p10);
    expect(moreSavedPerYear).toBeCloseTo(
      (row(strategy).batterySavings! - row('settings').batterySavings!) * report.axis.perYear,
      9,
    );
    expect(remark.message).toContain(`"${strategy}" keeps the backed-up load on for`);
  });

  test('is not named where it costs more than a tie', () => {
    const named = compare(home(0)).warnings.find(({ code }) => code === 'row-lasts-longer');
    // What costs no more at all may still be named.
    if (named !== undefined) expect((named.data as unknown as Remark).moreSavedPerYear).toBeGreaterThanOrEqual(0);
    expect(named?.data).not.toMatchObject({ strategy: 'hold' });
  });

  test('is not named for less than a twentieth more hours', () => {
    const rowsWith = (hours: number) =>
      [
        { strategy: 'settings', role: 'settings', batterySavings: 50, backupHours: { p10: 10 } },
        { strategy: 'hold', role: 'rule', batterySavings: 50, backupHours: { p10: hours } },
      ] as unknown as readonly StrategyResult[];
    const named = (hours: number) => lastsLonger(home(100), rowsWith(hours), 'settings', 500, 0).length;
    expect([10, 10.4, 10.6].map(named)).toEqual([0, 0, 1]);
  });

  test('is not named where the sheet has spent so much of the tie on its own hours that the row costs more than the rest', () => {
    const rows = [
      { strategy: 'settings', role: 'settings', batterySavings: 50, backupHours: { p10: 10 } },
      { strategy: 'hold', role: 'rule', batterySavings: 48, backupHours: { p10: 15 } },
    ] as unknown as readonly StrategyResult[];
    // 56 days of 365.25: a tie of 100 a year is 15.33, and the row costs 2.
    const named = (givenUp: number) => lastsLonger(home(100), rows, 'settings', 500, givenUp).length;
    expect([0, 13, 14].map(named)).toEqual([1, 1, 0]);
  });
});

test('settings of a box that follows published prices say so, and what the sheet is then for', () => {
  const codesOf = (controller: Record<string, unknown>) =>
    settings(twoPriceHome({ evening: () => 1, plant: { controller } })).warnings.map(({ code }) => code);
  expect(codesOf({ windowsPerDay: 1, follows: 'published-prices' })).toContain('box-follows-prices');
  expect(codesOf({ windowsPerDay: 1 })).not.toContain('box-follows-prices');
});
