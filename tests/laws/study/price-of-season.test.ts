import { outage, type Study, settings } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { outageText } from '../../../packages/cli/src/render/outage.ts';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';
import { typedIn } from '../../support/entered.ts';
import { twoPriceHome } from '../../support/two-price-home.ts';

const flat = (text: string) => text.replace(/\s+/g, ' ');

/** A year from April on, on two prices, with storms in some months. */
function stormy(stormMonths: number[], days = 365, plant: Record<string, unknown> = {}): Study {
  return twoPriceHome({
    days,
    evening: (day) => 1 + 0.8 * Math.sin(day),
    plant: { floor: { share: 0.2 }, controller: { windowsPerDay: 1 }, ...plant },
    backup: { load: { watts: 800 }, stormMonths, goalHours: 8 },
  });
}

describe('what a reserve of the storm months alone costs is the difference of two sheets that are typed in', () => {
  // Over the new year; in the month in which the data begin and end; in two runs.
  for (const [months, said] of [
    [[11, 12, 1, 2], 'the last of Oct,'],
    [[4, 5], 'the last of Mar,'],
    [[2, 8, 9], 'the last of Jan,'],
  ] as const)
    test(`of months ${months.join(', ')}`, () => {
      const study = stormy([...months]);
      const report = outage(study, { floors: [0.3, 0.5, 1], headline: 'settings' });
      const { wish, axis } = report;
      const season = wish!.season!;
      const { sheet } = settings(study);
      const enter = (more: Parameters<typeof typedIn>[1] = {}) =>
        settings(study, { tried: { document: typedIn(sheet, more) } });
      const own = enter().tried!;
      const percent = season.reservePercent;
      const entered = enter({ reserveByMonth: [{ months, percent }] });
      const other = entered.tried!;
      expect(season.costPerYear / axis.perYear + season.costOnce).toBeCloseTo(own.savings! - other.savings!, 6);
      expect(season.costOnce).toBeCloseTo(other.bill.boughtOnce - own.bill.boughtOnce, 6);
      expect(other.hours!).toBeGreaterThan(own.hours! - 1e-9);
      expect(season.reached).toBeGreaterThanOrEqual(8);
      expect(season.costPerYear).toBeGreaterThan(0);
      // Fewer months of it cost less than all of them, and the page says the cheaper with its dates.
      expect(season.costPerYear).toBeLessThan(wish!.costPerYear!);
      expect(season.turns.flatMap((turn) => turn.months).toSorted((a, b) => a - b)).toEqual(
        months.toSorted((a, b) => a - b),
      );
      for (const { leadHours, thenPercent } of season.turns) {
        expect(leadHours).toBeGreaterThan(0);
        expect(thenPercent).toBe(sheet.reservePercent);
      }
      const text = flat(outageText(report));
      expect(text).toContain(`hold back ${percent} % from ${said}`);
      expect(flat(outageText(report, true))).toContain(`All year, hold back ${wish!.reservePercent} %`);
      expect(flat(settingsText(entered))).toContain(`keeps ${sheet.reservePercent} %, ${percent} % in `);
    });
});

test('no price of a season where it is no choice: storms all year, data of less than a year, hours that are there', () => {
  const wishOf = (study: Study, floors = [0.5, 1]) => outage(study, { floors, headline: 'settings' }).wish!;
  const all = wishOf(stormy([1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]));
  expect([all.season, all.reservePercent === null]).toEqual([null, false]);
  expect(wishOf(stormy([4], 56)).season).toBeNull();
  const full = wishOf(stormy([4, 5], 365, { floor: { share: 0.9 } }));
  expect([full.reached === full.now, full.season]).toEqual([true, null]);
});

test('a sheet that is tried keeps months as a site that asks for them does', () => {
  const plain = stormy([11, 12]);
  const { sheet } = settings(plain);
  const tried = (more: Parameters<typeof typedIn>[1]) =>
    settings(plain, { tried: { document: typedIn(sheet, more) } }).tried!;
  const own = tried({});
  // Less than what is kept anyway changes nothing, and all the year is a higher reserve.
  expect(tried({ reserveByMonth: [{ months: [11], percent: 10 }] }).savings).toBe(own.savings);
  const year = tried({ reserveByMonth: [{ months: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12], percent: 60 }] });
  expect(year.savings).toBeCloseTo(tried({ reservePercent: 60 }).savings!, 6);
  expect(year.hours).toBe(tried({ reservePercent: 60 }).hours);
  expect(year.reserveByMonth).toEqual([{ months: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12], percent: 60 }]);
});
