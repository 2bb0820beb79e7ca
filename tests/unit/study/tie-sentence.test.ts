import { compare, settings } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { compareText } from '../../../packages/cli/src/render/compare.ts';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';
import { twoPriceHome } from '../../support/two-price-home.ts';

const flat = (text: string) => text.replace(/\s+/g, ' ');

// 0.20 and 0.17 a kWh: a round trip of 85 % earns nothing, so that an idle battery is the cheapest.
const homeWith = (sumForHoursPerYear: number) =>
  twoPriceHome({
    evening: () => 0.5,
    site: { dispatch: { sumForHoursPerYear } },
    tariff: {
      windows: [
        { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.2 },
        { name: 'rest', otherwise: true, pricePerKwh: 0.17 },
      ],
    },
  });
const reportWith = (sumForHoursPerYear: number) => compare(homeWith(sumForHoursPerYear));
const pageOf = (report: ReturnType<typeof compare>) => flat(compareText(report));

test('where a tie goes to the lights, the page says why the sheet counts beside a plainer row that saves more', () => {
  const report = reportWith(30);
  const row = (name: string) => report.strategies.find(({ strategy }) => strategy === name)!;
  expect(report.headline!.strategy).toBe('settings');
  const more = report.axis.perYear * (row('self-consumption').batterySavings! - row('settings').batterySavings!);
  expect(more).toBeGreaterThan(0);
  expect(more).toBeLessThan(30);
  // In the days of the data, as all money of the page.
  const { perYear } = report.axis;
  expect(pageOf(report)).toContain(
    `"self-consumption" saves USD ${(more / perYear).toFixed(2)} in 56 days more, no more than the USD ${(Math.floor((30 / perYear) * 100) / 100).toFixed(2)} in 56 days that count as a tie, and a tie goes to the lights: the sheet keeps them on for`,
  );
});

test('where the sheet saves as much, nothing is said', () => {
  expect(pageOf(reportWith(0))).not.toContain('count as a tie');
});

test('within a tie a row that needs clock windows asks nothing of a box; above it, it does', () => {
  const report = reportWith(30);
  const settings = report.strategies.find(({ strategy }) => strategy === 'settings')!;
  const withWindow = (morePerYear: number) => ({
    ...report,
    strategies: report.strategies.map((row) =>
      row.strategy === 'window'
        ? { ...row, batterySavings: settings.batterySavings! + morePerYear / report.axis.perYear }
        : row,
    ),
  });
  const [near, far] = [pageOf(withWindow(2)), pageOf(withWindow(40))];
  expect(near).not.toContain('asks more of a box');
  expect(near).toMatch(
    /"window" saves USD 0\.31 in 56 days more, no more than the USD 4\.59 in 56 days that count as a tie/,
  );
  expect(far).toContain('What saves more (window) asks more of a box than this one can be told.');
});

test('the sheet of 56 days tells its tie as a sum of 56 days too', () => {
  const report = settings(homeWith(30));
  const page = flat(settingsText(report));
  // 30 a year × 56 ÷ 365.25 = 4.599….
  expect(report.lights!.mostPerYear).toBeCloseTo(30, 9);
  expect(page).toMatch(/between settings within USD 4\.59 in 56 days|of at most USD 4\.59 in 56 days more/);
  expect(page).not.toMatch(/USD [\d.]+ a year/);
});
