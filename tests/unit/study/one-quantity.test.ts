import { followSheet, selfConsumption } from '@duskbank/core/dispatch';
import { backupHours, summarizeBackup } from '@duskbank/core/outage';
import { loadSite } from '@duskbank/core/site';
import {
  compare,
  explain,
  outage,
  type Study,
  settings,
  standardStrategies,
  strategyNamed,
} from '@duskbank/core/study';
import { evaluate } from '@duskbank/core/trial';
import { expect, test } from 'vitest';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';
import { twoPriceHome } from '../../support/two-price-home.ts';

const battery = { units: 1, usableKwh: 5, chargeKw: 2.5, dischargeKw: 2.5, roundTripEfficiency: 0.88 };
const windows = [
  { name: 'night', from: '22:00', to: '06:00', pricePerKwh: 0.2 },
  { name: 'day', otherwise: true, pricePerKwh: 0.3 },
];
const studyOf = async (tariff: object, hours: ReturnType<typeof hoursOf>, more: object = {}) => {
  const site = smallSite(hours, { windows, ...tariff }, { battery }, {}, { ...more });
  return (await loadSite(site.path, site.read)).study;
};
/** Twelve weeks whose odd ones draw more and have less sun than the even ones. */
function unlikeWeeks() {
  let state = 8;
  const random = () => {
    state = (state * 1664525 + 1013904223) % 4294967296;
    return state / 4294967296;
  };
  return hoursOf(84, (h, day) => {
    const odd = Math.floor(day / 7) % 2 === 1;
    const load = (h >= 17 && h < 22 ? 0.9 : 0.25) * (odd ? 1.5 : 0.6) * (0.4 + 1.2 * random());
    return [load, h >= 9 && h < 16 ? (odd ? 0.2 : 2) * random() : 0];
  });
}
const weeks = unlikeWeeks();
/** Charging pays in odd weeks alone, since nobody is at home on the evenings of even ones: the sheets of the halves differ. */
const halved = (sumForHoursPerYear = 0) =>
  twoPriceHome({
    evening: (day) => (Math.floor(day / 7) % 2 === 1 ? 2 : 0),
    plant: { controller: { windowsPerDay: 1 } },
    backup: { load: { share: 0.5 } },
    site: { dispatch: { sumForHoursPerYear } },
  });
const searchedFor = (study: Study) => strategyNamed('settings', standardStrategies(study));

test('hours, cycles and what the box was told are of the printed sheet in every answer, and money is judged apart', () => {
  const study = halved();
  const { lights, expected, inSample } = settings(study);
  const compared = compare(study).strategies.find(({ strategy }) => strategy === 'settings')!;
  const row = outage(study, { headline: 'settings' }).strategies.find(({ strategy }) => strategy === 'settings')!;
  const { sheets } = evaluate(study.home, searchedFor(study), ['sheets']);
  const { home, island } = study;
  const replayed = evaluate(home, followSheet(sheets!.all), ['flows', 'energy']);
  const hours = backupHours({ axis: home.axis, plant: home.plant, socKwh: replayed.flows.socKwh, ...island });
  const nineInTen = summarizeBackup(home.axis, hours).allHours.p10;
  expect(lights!.hours).toBe(nineInTen);
  expect(compared.backupHours!.p10).toBe(nineInTen);
  expect(row.hours!.allHours.p10).toBe(nineInTen);
  expect(compared.equivalentFullCycles).toBe(replayed.energy.equivalentFullCycles);
  expect(compared.bill.total).toBe(expected.bill.total);
  // The sheets of the halves are others: what money is judged on lasts for another time, and costs another sum.
  const { judged } = evaluate(home, searchedFor(study), ['judged']);
  const apart = backupHours({ axis: home.axis, plant: home.plant, socKwh: judged!.flows.socKwh, ...island });
  expect(Math.abs(summarizeBackup(home.axis, apart).allHours.p10 - nineInTen)).toBeGreaterThan(0.02);
  expect(expected.bill.total).not.toBe(inSample.bill.total);
  // In any hour it is told what is printed.
  for (const i of [3, 40, 7 * 24 + 3, 8 * 24 + 16]) {
    const { flows, words } = explain(study, searchedFor(study), i);
    expect(flows.chargeKwh).toBe(replayed.flows.chargeKwh[i]);
    expect(words.join(' ')).not.toMatch(/odd|even/);
  }
});

test('a saving that the printed sheet doesn’t bear out is told apart from one that it does', () => {
  const differing = (sumForHoursPerYear: number) => {
    const study = halved(sumForHoursPerYear);
    const { expected, inSample } = settings(study);
    const row = compare(study).strategies.find(({ strategy }) => strategy === 'settings')!;
    expect(row.inSample!.differs).toBe(inSample.differs);
    return { differs: inSample.differs, by: Math.abs(expected.savingsPerYear! - inSample.savingsPerYear!) };
  };
  const { differs, by } = differing(0);
  expect(by).toBeGreaterThan(0.01);
  expect(differs).toBe(true);
  expect(differing(1000).differs).toBe(false);
});

test('explain has the price of the file beside that with riders and taxes', async () => {
  const study = await studyOf({ taxes: [{ name: 'VAT', percent: 19 }] }, weeks);
  const { price, loadKnown } = explain(study, selfConsumption, 50);
  expect(price.statedImportPerKwh).toBeCloseTo(0.2, 9);
  expect(price.importPerKwh).toBeCloseTo(0.2 * 1.19, 9);
  expect(loadKnown).toBe(true);
});

test('a start that draws more than the battery gives is dark for that reason', async () => {
  const study = await studyOf(
    {},
    hoursOf(30, (h, day) => [day === 20 && h === 19 ? 3.4 : 0.4, 0]),
  );
  const row = outage(study).strategies[0]!;
  expect(row.planningHours.hours).toBe(0);
  expect(row.planningOverload).toEqual({ drawnKw: 3.4, givenKw: 2.5 });
  const calm = await studyOf(
    {},
    hoursOf(30, () => [0.4, 0]),
  );
  expect(outage(calm).strategies[0]!.planningOverload).toBeNull();
});
