import { type OutageReport, outage, type Study, settings } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { typedIn } from '../../support/entered.ts';
import { unlikeWeeks } from '../../support/unlike-weeks.ts';

const HOMES = 16;

/** What a price says must be what typing both sheets in comes to, on the same data, to the cent. */
function priceIsOfSheets(
  study: Study,
  { axis }: OutageReport,
  price: { costPerYear: number; costOnce: number },
  more: { reservePercent: number; toTargetPercent: number | null },
  name: string,
): number {
  const { sheet, expected } = settings(study);
  const { tried, inSample } = settings(study, { tried: { document: typedIn(sheet, more) } });
  const said = price.costPerYear / axis.perYear + price.costOnce;
  expect(said, name).toBeCloseTo(inSample.savings! - tried!.savings!, 6);
  expect(price.costOnce, name).toBeCloseTo(tried!.bill.boughtOnce - inSample.bill.boughtOnce!, 6);
  return Math.abs(expected.savings! - inSample.savings!);
}

test('what an hour more costs, and what the wish costs, is what entering it costs on all weeks of the data', () => {
  let [priced, wished, unlike] = [0, 0, 0];
  for (let seed = 0; seed < HOMES; seed++) {
    const study = unlikeWeeks(seed, { goalHours: 4 + (seed % 5) });
    const report = outage(study, { floors: [0.3, 0.5, 1], headline: 'settings' });
    const { nextHour, wish, frontier } = report;
    if (nextHour !== null) {
      const more = {
        reservePercent: Math.round(100 * nextHour.toFloorShare),
        toTargetPercent: nextHour.toTargetPercent,
      };
      if (priceIsOfSheets(study, report, nextHour, more, `hour of home ${seed}`) > 0.01) unlike++;
      priced++;
    }
    if (wish !== null && wish.costPerYear !== null && wish.reached !== wish.now) {
      const { reservePercent, toTargetPercent, costPerYear, costOnce } = wish;
      const more = { reservePercent: reservePercent!, toTargetPercent };
      priceIsOfSheets(study, report, { costPerYear, costOnce: costOnce! }, more, `wish of home ${seed}`);
      wished++;
    }
    // Step by step the same: the sum of the steps is what all of it costs.
    const rows = frontier.map(({ strategies }) => strategies.find(({ strategy }) => strategy === 'settings')!);
    const own = rows[0]!.replayed!;
    const last = rows.at(-1)!.replayed!;
    const steps = report.hourPrices.reduce(
      (sum, each) => sum + each.costPerYear / report.axis.perYear + each.costOnce,
      0,
    );
    expect(steps).toBeCloseTo((own.savingsPerYear - last.savingsPerYear) / report.axis.perYear, 6);
  }
  expect(priced).toBeGreaterThan(HOMES / 2);
  expect(wished).toBeGreaterThan(HOMES / 4);
  // On most of them the sheets of the halves differ, so that what was judged on other weeks is another sum.
  expect(unlike).toBeGreaterThan(HOMES / 4);
});

test('what is given up for hours is what the printed sheet costs more than the cheapest, both on all of the data', () => {
  for (let seed = 0; seed < HOMES; seed++) {
    const study = unlikeWeeks(seed);
    const { lights, inSample, axis, warnings } = settings(study);
    if (warnings.some(({ code }) => code === 'windows-failed')) continue;
    const cheapest = settings({ ...study, site: { ...study.site, dispatch: { sumForHoursPerYear: 0 } } });
    const between = cheapest.inSample.savings! - inSample.savings!;
    expect(lights!.givenUpPerYear / axis.perYear, `home ${seed}`).toBeCloseTo(Math.max(0, between), 6);
    // With no sum the cheapest is moved to hours that cost nothing too.
    expect(lights!.cheapestHours, `home ${seed}`).toBeLessThanOrEqual(cheapest.lights!.hours + 1e-9);
  }
});
