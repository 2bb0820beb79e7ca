import { hold } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { compare, outage, settings } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { compareText } from '../../../packages/cli/src/render/compare.ts';
import { lossText } from '../../../packages/cli/src/render/loss.ts';
import { outageText } from '../../../packages/cli/src/render/outage.ts';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';
import { STUDY_WORDS } from '../../../packages/core/src/words/study.ts';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

const flat = (text: string) => text.replace(/\s+/g, ' ');

async function homeOf(battery: object, backup: object = { load: { watts: 200 } }) {
  const tariff = { windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.2 }] };
  const hours = hoursOf(30, (h) => [h >= 17 && h < 21 ? 1 : 0.4, 0]);
  const plant = {
    battery: { units: 1, usableKwh: 4, chargeKw: 2, dischargeKw: 2, roundTripEfficiency: 0.9, standbyW: 0, ...battery },
    floor: { share: 0.2 },
    controller: { windowsPerDay: 1 },
  };
  const site = smallSite(hours, tariff, plant, {}, { backup });
  return (await loadSite(site.path, site.read)).study;
}

test('a difference of nothing is told as the same: no sentence prints 0.00 of a currency', async () => {
  // One price and no sun: nothing is won by storing, and without standby nothing lost.
  for (const [standbyW, words] of [
    [0, 'the battery saves nothing and costs nothing'],
    [10, 'the battery loses money'],
  ] as const) {
    const study = await homeOf({ standbyW });
    const sheet = flat(settingsText(settings(study, { tried: { document: { reservePercent: 20, schedules: [{}] } } })));
    const texts = [flat(compareText(compare(study))), sheet, flat(outageText(outage(study), true))];
    for (const text of texts) expect(text).not.toMatch(/USD −?0\.00/);
    expect(sheet).toContain('It would save the same.');
    expect(sheet).toContain('would have saved as much on the same data');
    expect(texts[0]).toContain(words);
    expect(sheet.toLowerCase()).toContain(words);
  }
});

test('a filling that was bought once is no cost of a year', async () => {
  // 4 kWh from the floor of 0.8: 3.2 kWh at 0.20 ÷ √0.9 are 0.67; 10 W over 30 days are 7.2 kWh, 1.44.
  const backup = {
    circuits: [{ name: 'Breathing aid', watts: 100, leg: 'L1', priority: 1, medical: true }],
    transfer: { kind: 'automatic', seconds: 1 },
  };
  for (const [standbyW, words] of [
    [0, 'costs USD 0.67 more, once, to fill it, against'],
    [10, 'costs USD 2.11 more in 30 days, USD 0.67 of it once, to fill it, against'],
  ] as const) {
    const study = await homeOf({ standbyW }, backup);
    expect(flat(settingsText(settings(study)))).toContain(words);
    const text = flat(compareText(compare(study)));
    expect(text).toContain(words);
    expect(text).toContain('hold: kept full for an outage; its own draw, and filling it once, are paid for.');
  }
});

test('so is one that the run itself buys, from the floor to what it keeps', async () => {
  // The same 3.2 kWh, bought in the first hours.
  for (const [standbyW, words] of [
    [0, 'costs USD 0.67 more, once, to fill it, against'],
    [10, 'costs USD 2.11 more in 30 days, USD 0.67 of it once, to fill it, against'],
  ] as const) {
    const report = compare(await homeOf({ standbyW }), { strategies: [hold] });
    expect(flat(compareText(report))).toContain(words);
    expect(report.strategies[0]!.bill).toMatchObject({ startEnergy: 0, boughtOnce: expect.closeTo(0.67, 9) });
  }
});

test('a year that saves, but less than the first filling costs, says so', () => {
  const money = { currency: 'USD', currencyDecimals: 2 };
  expect(lossText(0.4, 0.67, money, 'in 30 days')).toBe(
    'USD 0.40 more in 30 days, since filling it once costs USD 0.67; apart from that it saves USD 0.27',
  );
  expect(lossText(0.4, -0.1, money, 'a year')).toBe('USD 0.40 more a year');
});

test('a row that lasts longer for the same money says so', () => {
  const data = {
    strategy: 'window',
    hours: 6,
    headline: 'settings',
    headlineHours: 4,
    mostPerYear: 2,
    shortDays: null,
    currency: 'USD',
    currencyDecimals: 2,
  };
  const told = (moreSavedPerYear: number) => STUDY_WORDS['row-lasts-longer']({ ...data, moreSavedPerYear });
  expect(told(0.004)).toContain('and saves as much: ask');
  expect(told(-0.004)).toContain('and saves as much: ask');
  expect(told(-0.01)).toContain('saves USD 0.01 a year less, where up to USD 2.00 counts as a tie');
  // Of 73.05 days the sums are a fifth.
  const short = STUDY_WORDS['row-lasts-longer']({ ...data, moreSavedPerYear: -1, shortDays: 73.05 });
  expect(short).toContain('saves USD 0.20 in 73 days less, where up to USD 0.40 counts as a tie');
});
