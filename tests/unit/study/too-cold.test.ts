import { rolling } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { compare, settings, standardStrategies } from '@duskbank/core/study';
import { evaluate } from '@duskbank/core/trial';
import { expect, test } from 'vitest';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';
import { stormLine, stormSeason } from '../../../packages/cli/src/render/storm.ts';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

const TARIFF = {
  windows: [
    { name: 'evening', from: '16:00', to: '21:00', pricePerKwh: 0.5 },
    { name: 'rest', otherwise: true, pricePerKwh: 0.1 },
  ],
};

/** January and some of February: 0.5 kW all day, three hours of sun at noon. */
const HOURS = hoursOf(45, (h) => [0.5, h >= 11 && h < 14 ? 2 : 0]);
const JANUARY = 31 * 24;

/** A battery that starts full, where it is below freezing in January and in December alone. */
async function frozen(lowsC: readonly number[], more: object = {}) {
  const backup = { load: { watts: 200 }, cold: { limitC: 0, lowsC }, ...more };
  const site = smallSite(HOURS, TARIFF, { startShare: 1 }, {}, { backup });
  return (await loadSite(site.path, site.read)).study;
}
const COLD_JANUARY = [-8, 2, 3, 5, 9, 12, 14, 14, 10, 7, 3, -1];
const MILD = COLD_JANUARY.map(() => 5);

test('cells too cold to charge take nothing under any strategy, the best possible in hindsight among them', async () => {
  const study = await frozen(COLD_JANUARY);
  const strategies = [...standardStrategies(study), rolling()];
  expect(strategies.map(({ name }) => name)).toContain('optimum');
  for (const strategy of strategies) {
    const { flows, bill, bound } = evaluate(study.home, strategy, ['flows', 'bill', 'bound']);
    const charged = flows.chargeKwh.reduce((sums, kwh, i) => (kwh > 0 ? sums.add(i) : sums), new Set<number>());
    expect(
      [...charged].filter((i) => i < JANUARY),
      strategy.name,
    ).toEqual([]);
    if (!['none', 'hold'].includes(strategy.name)) expect(charged.size, strategy.name).toBeGreaterThan(10);
    expect(bill.total + 1e-9, strategy.name).toBeGreaterThanOrEqual(bound.billTotal);
  }
});

test('the days on which it takes nothing save nothing, and the reader is told once which they are', async () => {
  const [cold, mild] = [compare(await frozen(COLD_JANUARY)), compare(await frozen(MILD))];
  const saved = (report: typeof cold) => report.strategies.find(({ strategy }) => strategy === 'optimum')!.savings!;
  // 14 of 45 days are left, and what was stored at the start: 4 kWh of it are worth 2.00 once.
  expect(saved(cold)).toBeLessThan((14 / 45) * saved(mild) + 2.01);
  expect(saved(cold)).toBeGreaterThan(0.9 * (14 / 45) * saved(mild));
  const told = cold.warnings.filter(({ code }) => code === 'too-cold-to-charge');
  expect(told.map(({ data }) => data)).toEqual([{ limitC: 0, months: [1], days: 31 }]);
  expect(told[0]!.message).toContain('no charging in Jan:');
  expect(mild.warnings.map(({ code }) => code)).not.toContain('too-cold-to-charge');
});

test('a planned outage in the cold is not promised a full battery, however long the notice', async () => {
  const planned = [{ from: '2025-01-20T08:00', to: '2025-01-20T14:00', noticeHours: 48 }];
  const verdicts = async (lowsC: readonly number[]) =>
    (await frozen(lowsC, { reserve: { planned } })).warnings
      .filter(({ code }) => code === 'planned-outage')
      .map(({ data }) => (data as { verdict: string }).verdict);
  expect(await verdicts(COLD_JANUARY)).toEqual(['too-cold']);
  expect(await verdicts(MILD)).toEqual([]);
});

test('where the cells are too cold nobody is told to fill it: what is left is told, and what to do before, of December too, which the data don’t hold', async () => {
  const reserve = { planned: [{ from: '2025-01-20T08:00', to: '2025-01-20T14:00', noticeHours: 48 }] };
  const study = await frozen(COLD_JANUARY, { stormMonths: [1, 2], reserve });
  const report = settings(study);
  const seasons = report.year.map(({ what, months }) => ({ what, months }));
  expect(seasons).toContainEqual({ what: 'storm-season', months: [2] });
  expect(seasons).toContainEqual({ what: 'too-cold', months: [1, 12] });
  expect(report.fullCharge.months).toContain(1);
  expect(seasons.filter(({ what }) => what === 'full-charge').flatMap(({ months }) => months)).not.toContain(1);
  const text = settingsText(report).replace(/\s+/g, ' ');
  expect(text).toContain('Feb, the site’s storm months: on a storm warning set the reserve to 100 %');
  expect(text).toContain('fill it before 1 Dec 2025 and set the reserve to 100 % until the cold is over');
  expect(text).toContain('so that this only keeps what is still there');
  const { storm } = compare(study);
  // 0.2 kW from the reserve alone, which is nothing here; a full one carries it for hours.
  expect(storm!.cold!.months).toEqual([1]);
  expect(storm!.cold!.hours).toBeLessThan(storm!.hours! - 1);
  const line = stormLine(storm!, '', 336);
  expect(line).toContain('But in Jan it can’t be filled: the cells are too cold to charge.');
  expect(line).toContain('9 of 10 outages in Feb,');
  const allCold = compare(await frozen(COLD_JANUARY, { stormMonths: [1] })).storm!;
  expect(allCold.hours).toBeNull();
  expect(stormLine(allCold, '', 336)).not.toContain('hold back 100 % the day before');
  const mild = await frozen(MILD, { stormMonths: [1, 2] });
  expect(compare(mild).storm!.cold).toBeUndefined();
  expect(settings(mild).year.map(({ what }) => what)).not.toContain('too-cold');
});

test('storm months that the data don’t hold are named as such: no hours of other months are told as theirs', async () => {
  const [some, none] = [
    compare(await frozen(MILD, { stormMonths: [2, 7] })).storm!,
    compare(await frozen(MILD, { stormMonths: [7, 8] })).storm!,
  ];
  const february = compare(await frozen(MILD, { stormMonths: [2] })).storm!;
  expect(february.unseenMonths).toBeUndefined();
  expect(some).toMatchObject({ unseenMonths: [7], hours: february.hours });
  expect(stormLine(some, '', 336)).toContain('outages in Feb,');
  expect(stormLine(some, '', 336)).toContain('How long it lasts in Jul isn’t known');
  expect(stormSeason({ ...some, duty: null })).toBe('outages in Feb (the data hold no Jul)');
  expect(none).toMatchObject({ unseenMonths: [7, 8], hours: null });
  expect(stormLine(none, '', 336)).not.toMatch(/9 of 10|It then carries/);
  expect(stormSeason({ ...none, duty: null })).toBe('of all starts of the data (the data hold no Jul, Aug)');
});

test('after a storm the reserve goes back to what its month keeps, not below', async () => {
  const reserve = { byMonth: [{ months: [1, 12], share: 0.9 }] };
  const study = await frozen(MILD, { stormMonths: [1, 2], reserve });
  const text = settingsText(settings(study)).replace(/\s+/g, ' ');
  expect(text).toMatch(
    /on a storm warning set the reserve to 100 %, and back to 90 % in Jan, \d+ % in Feb when it is over/,
  );
  expect(text).not.toContain('Does it stop carrying load at');
});
