import { selfConsumption } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { explain, outage, settings } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

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

test('hours of the settings are the same in settings as in outage, of few data too', async () => {
  const study = await studyOf({}, weeks, { plant: { battery: { ...battery, usableKwh: 10 }, floor: { share: 0.2 } } });
  const { lights } = settings(study);
  const row = outage(study, { headline: 'settings' }).strategies.find(({ strategy }) => strategy === 'settings')!;
  expect(lights!.expectedHours).toBe(row.hours!.allHours.p10);
  // Of the printed sheet on all weeks they are others.
  expect(Math.abs(lights!.hours - lights!.expectedHours)).toBeGreaterThan(0.02);
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
