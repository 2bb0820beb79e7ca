import { compare, settings } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { twoPriceHome } from '../../support/two-price-home.ts';

test('a sum a year that may be given up for hours is that sum over a year of data', () => {
  const study = twoPriceHome({ evening: () => 2, days: 365 });
  const report = settings({ ...study, site: { ...study.site, dispatch: { sumForHoursPerYear: 12 } } });
  expect(report.lights!.mostPerYear).toBeCloseTo(12, 9);
});

test('what counts as a tie is the same sum in "compare" and in "settings": of what the cheapest sheet saves', () => {
  const study = twoPriceHome({ evening: (day) => (Math.floor(day / 7) % 2 === 0 ? 0.5 : 2.2) + (day % 5) });
  const { lights, expected, axis } = settings(study);
  const row = compare(study).strategies.find(({ strategy }) => strategy === 'settings')!;
  // What is judged on other weeks, and with hours paid for, is another sum.
  expect(lights!.mostPerYear).not.toBeCloseTo(0.02 * axis.perYear * expected.savings!, 4);
  expect(row.inSample!.tiePerYear).toBeCloseTo(lights!.mostPerYear, 9);
});
