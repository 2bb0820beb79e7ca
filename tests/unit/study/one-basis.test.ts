import type { Strategy } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { outage, settings } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { outageText } from '../../../packages/cli/src/render/outage.ts';
import { quantityAt } from '../../../packages/core/src/plant/inside.ts';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';
import { outageStudy } from '../../support/outage-study.ts';
import { twoPriceHome } from '../../support/two-price-home.ts';

const flat = (text: string) => text.replace(/\s+/g, ' ');

describe('sums of the outage page', () => {
  test('are of the days of the data where these are no year, as in compare', () => {
    const report = outage(outageStudy({ load: { watts: 600 }, goalHours: 8 }), { floors: [0, 0.5, 1] });
    const text = flat(outageText(report, true));
    const { perYear, isYear } = report.axis;
    expect(isYear).toBe(false);
    const { costPerYear, costOnce, pricePerHour } = report.nextHour!;
    expect(text).toContain('What does an hour more cost me in 28 days? (same windows, replayed on all weeks)');
    expect(text).toContain(
      `saves USD ${(costPerYear / perYear).toFixed(2)} in 28 days and USD ${costOnce.toFixed(2)} once less: USD ${(pricePerHour! / perYear).toFixed(2)} in 28 days for an hour`,
    );
    expect(text).toContain('saved 28 days');
    expect(text).not.toMatch(/USD [\d.,]+ a year/);
  });
});

describe('no hour to be bought', () => {
  test('is said to be so by the measure that an hour is counted in', () => {
    // All of it is kept, or the load is more than the battery puts out.
    const page = (plant: object, watts: number) =>
      flat(
        outageText(outage(twoPriceHome({ evening: () => 1, plant: { ...plant }, backup: { load: { watts } } })), false),
      );
    expect(page({ floor: { share: 1 } }, 300)).toContain(
      'No price is given: all of it is kept already, and nothing lasts longer.',
    );
    expect(page({}, 9000)).toContain(
      'No price is given: no higher reserve that was tried, nor windows that fill further where it has any, lasts longer on 9 of 10 weekday evenings.',
    );
  });
});

describe('a higher reserve that saves more by the figures', () => {
  // No sun is stored with less than 2 kWh held back: a controller that errs, so that holding back more looks like a gain.
  const errs: Strategy = {
    name: 'errs',
    knowledge: 'causal',
    begin: ({ axis, plant }) => ({
      plan(_from, _soc, levels) {
        if (quantityAt(plant.floorKwh, 0) < 2) levels.solarChargeToKwh.fill(0);
        return axis.intervals;
      },
    }),
  };

  test('costs nothing more, and is said to be no gain; the report has the figures of its frontier', () => {
    const study = outageStudy({ load: { watts: 600 }, goalHours: 5 });
    const report = outage(study, { strategies: [errs], headline: 'errs', floors: [0.48, 1] });
    const { wish, frontier, axis } = report;
    const saved = (share: number) =>
      frontier.find(({ floorShare }) => floorShare === share)!.strategies[0]!.savingsPerYear!;
    expect(wish!.reservePercent).toBe(48);
    const own = Math.min(...frontier.map(({ floorShare }) => floorShare));
    // What it saves in these days, the energy that fills it bought once among it.
    expect(wish!.costPerYear! / axis.perYear + wish!.costOnce!).toBeCloseTo(
      (saved(own) - saved(0.48)) / axis.perYear,
      9,
    );
    expect(wish!.costOnce!).toBeGreaterThan(0.01);
    const more = (-wish!.costPerYear! / axis.perYear).toFixed(2);
    expect(Number(more)).toBeGreaterThan(1);
    expect(flat(outageText(report, true))).toContain(
      `hold back 48 %, which costs nothing more (by these figures even USD ${more} in 28 days less: with more held back "errs" errs less, by chance; count on none of it) and USD ${wish!.costOnce!.toFixed(2)} once: `,
    );
  });
});

describe('hours out of reach', () => {
  const wishOf = (battery: object) => {
    const report = outage(outageStudy({ load: { watts: 1000 }, goalHours: 300 }, { battery }), { floors: [1] });
    return [report.wish!.mayGrow, flat(outageText(report))] as const;
  };

  test('speak of what may be added only where the site says that anything may', () => {
    const [grows, growing] = wishOf({});
    expect(grows).toBe(true);
    expect(growing).toContain('even full and with all that may be added to it; now');
    const [fixed, text] = wishOf({ units: 2, maxUnits: undefined, modules: undefined });
    expect(fixed).toBe(false);
    expect(text).toContain('not with this equipment, even full; now');
  });
});

describe('months that the data hold nothing of', () => {
  const told = (pricePerKwh: number) => {
    const { sheet, warnings } = settings(
      twoPriceHome({
        evening: () => 2,
        plant: { floor: { share: 0.2 }, controller: { windowsPerDay: 1 } },
        tariff: {
          windows: [
            { name: 'evening', from: '17:00', to: '21:00', pricePerKwh },
            { name: 'rest', otherwise: true, pricePerKwh: 0.2 },
          ],
        },
      }),
    );
    const { message, data } = warnings.find(({ code }) => code === 'settings-months-unseen')!;
    const entered = sheet.schedules.some(({ charge, discharge }) => charge !== null || discharge !== null);
    expect(data.windows).toBe(entered);
    return [entered, message] as const;
  };

  test('ask for the windows to be left off only where the sheet has any', () => {
    const [some, off] = told(0.6);
    expect(some).toBe(true);
    expect(off).toContain('Leave the windows off then, and run this again');
    const [none, unknown] = told(0.2);
    expect(none).toBe(false);
    expect(unknown).not.toMatch(/the windows off/);
    expect(unknown).toContain('whether a clock window would pay in these months isn’t known');
  });
});

describe('a planned outage that the data don’t reach', () => {
  test.each([
    [2, 'too-late'],
    [24, 'in-time'],
  ] as const)('with %s h of notice has one time of filling and one verdict, %s', async (noticeHours, verdict) => {
    // 3.2 kWh at 1 kW, all year 2025 in the data.
    const planned = [{ from: '2026-05-12T09:00', to: '2026-05-12T12:00', noticeHours }];
    const backup = { load: { watts: 200 }, reserve: { planned } };
    const battery = { units: 1, usableKwh: 4, chargeKw: 1, dischargeKw: 2, roundTripEfficiency: 1, standbyW: 0 };
    const plant = { battery, floor: { share: 0.2 }, controller: { windowsPerDay: 1 } };
    const tariff = { windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.2 }] };
    const site = smallSite(
      hoursOf(30, () => [0.4, 0]),
      tariff,
      plant,
      {},
      { backup },
    );
    const { study } = await loadSite(site.path, site.read);
    const onSheet = settings(study).sheet.dated[0]!.outage!;
    for (const headline of ['settings', 'self-consumption']) {
      const report = outage(study, { headline, floors: [1] });
      const [told] = report.planned;
      expect(told).toMatchObject({ interval: -1, fillHours: onSheet.fillHours, verdict: onSheet.verdict });
      expect([told!.verdict, told!.fillHours]).toEqual([verdict, expect.closeTo(3.2, 6)]);
      const text = flat(outageText(report));
      expect(text).not.toContain('outside the data');
      expect(text).toContain('3.2 h');
      const warned = report.warnings.find(({ code }) => code === 'planned-outage');
      expect(warned?.data.verdict).toBe(verdict === 'in-time' ? undefined : verdict);
      const beyond = report.warnings.filter(({ code }) => code === 'planned-outages-beyond');
      expect(beyond.map(({ data }) => data.outages)).toEqual([1]);
    }
  });
});
