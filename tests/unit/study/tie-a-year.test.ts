import { settings } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { twoPriceHome } from '../../support/two-price-home.ts';

test('a sum a year that may be given up for hours is that sum over a year of data', () => {
  const study = twoPriceHome({ evening: () => 2, days: 365 });
  const report = settings({ ...study, site: { ...study.site, dispatch: { sumForHoursPerYear: 12 } } });
  expect(report.lights!.mostPerYear).toBeCloseTo(12, 9);
});
