import { loadSite } from '@duskbank/core/site';
import { outage, settings } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { typedIn } from '../../support/entered.ts';
import { generateSite, generateTariff, retold } from '../../support/panel/index.ts';

const HOMES = 9;
const TARIFFS = 3;
const DAYS = 28;

/** A home of the panel on another tariff of the panel, with a box that takes clock windows and a load that is backed up. */
async function homeOn(seed: number, k: number) {
  const site = generateSite(seed, { home: { days: DAYS, stepMinutes: 60 } });
  const tariff = generateTariff(1000 + TARIFFS * seed + k, site.home);
  const { floor, ...plant } = site.document.plant as Record<string, unknown>;
  const told = retold(site, {
    tariff: tariff.document,
    files: tariff.files,
    document: {
      account: Object.keys(tariff.account).length > 0 ? tariff.account : undefined,
      // A floor of 80 % leaves little to be bought.
      plant: { ...plant, floor: { share: 0.1 }, controller: { windowsPerDay: 1 + (k % 2), weekends: k === 2 } },
      backup: { ...(site.document.backup as object | undefined), load: { watts: 300 }, goalHours: 6 },
    },
  });
  return (await loadSite(told.path, told.read)).study;
}

test('the price of an hour is the difference of the bills of two sheets that are typed in, to the cent', async () => {
  let [priced, wished, unlike] = [0, 0, 0];
  const homes = new Set<number>();
  for (let seed = 1; seed <= HOMES; seed++)
    for (let k = 0; k < TARIFFS; k++) {
      const study = await homeOn(seed, k);
      if (study.savingsWithheld !== undefined || study.island.medical) continue;
      const name = `home ${seed} on tariff ${k}`;
      const { nextHour, wish, axis } = outage(study, { floors: [0.3, 0.6, 1], headline: 'settings' });
      const { sheet, inSample, expected, lights } = settings(study);
      const enter = (more: Parameters<typeof typedIn>[1] = {}) =>
        settings(study, { tried: { document: typedIn(sheet, more) } }).tried!;
      const own = enter();
      expect(own.bill.total, name).toBeCloseTo(inSample.bill.total, 6);
      expect(own.savings, name).toBeCloseTo(inSample.savings!, 6);
      expect(own.hours, name).toBe(own.sheetHours);
      expect(own.eveningHours, name).toBe(own.sheetEveningHours);
      if (lights !== null) expect([own.hours, own.eveningHours], name).toEqual([lights.hours, lights.eveningHours]);
      if (nextHour !== null) {
        const { toFloorShare, toTargetPercent, costPerYear, costOnce, hoursGained } = nextHour;
        const other = enter({ reservePercent: Math.round(100 * toFloorShare), toTargetPercent });
        expect(costPerYear / axis.perYear + costOnce, name).toBeCloseTo(other.bill.total - own.bill.total, 6);
        expect(hoursGained, name).toBeCloseTo(other.eveningHours! - own.eveningHours!, 6);
        if (Math.abs(expected.savings! - inSample.savings!) > 0.01) unlike++;
        homes.add(seed);
        priced++;
      }
      if (wish !== null && wish.costPerYear !== null && wish.reached !== wish.now) {
        const { reservePercent, toTargetPercent, costPerYear, costOnce } = wish;
        const other = enter({ reservePercent, toTargetPercent });
        expect(costPerYear / axis.perYear + costOnce!, name).toBeCloseTo(other.bill.total - own.bill.total, 6);
        wished++;
      }
    }
  expect(homes.size).toBeGreaterThanOrEqual(8);
  expect(priced).toBeGreaterThan(20);
  expect(wished).toBeGreaterThan(5);
  // On these the sheets of the halves differ, so that what was judged on other weeks is another sum.
  expect(unlike).toBeGreaterThan(5);
}, 600_000);
