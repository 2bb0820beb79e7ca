import { settings } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { twoPriceHome } from '../../support/two-price-home.ts';

// A sheet and the same sheet typed in by hand are one box: one saving, the same hours.
test.each([
  // Days of notice, so that the reserve stands at 100 % for long.
  [
    'a planned outage in the data',
    { planned: [{ from: '2026-04-23T09:00', to: '2026-04-23T15:00', noticeHours: 240 }] },
  ],
  ['more kept in a month', { byMonth: [{ months: [4], share: 0.9 }] }],
])('the printed sheet, typed in, saves and lasts what the sheet does, with %s', (_, reserve) => {
  const study = twoPriceHome({
    evening: () => 1,
    plant: { controller: { windowsPerDay: 1 }, floor: { share: 0.2 } },
    backup: { load: { share: 0.5 }, reserve },
  });
  const { sheet } = settings(study);
  const clock = (minute: number) =>
    `${String(Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;
  expect(sheet.dated).toHaveLength(1);
  const schedules = sheet.schedules.map(({ months, days, charge, chargeToPercent, discharge }) => ({
    months,
    days,
    ...(charge === null
      ? {}
      : { charge: { from: clock(charge.fromMinute), to: clock(charge.toMinute), toPercent: chargeToPercent } }),
    ...(discharge === null ? {} : { carry: { from: clock(discharge.fromMinute), to: clock(discharge.toMinute) } }),
  }));
  const { tried, inSample } = settings(study, { tried: { document: { schedules } } });
  expect(tried!.reserveByHand).toBe(true);
  expect(tried!.savings).toBe(inSample.savings);
  expect(tried!.hours).toBe(tried!.sheetHours);
});

test('a charging power below what the units take is a choice, and said to be one', () => {
  const box = { plant: { controller: { windowsPerDay: 1 } } };
  const full = settings(twoPriceHome({ evening: () => 1, ...box }));
  expect(full.sheet.gridChargeKw).toBe(full.plant.chargeKw);
  expect(full.sheet.chargeSetBy).toBe(full.plant.chargeSetBy);
  const demand = [{ name: 'Peak', pricePerKw: 9 }];
  const held = settings(twoPriceHome({ evening: () => 1, ...box, tariff: { demand } }));
  // 3 kW into a home that draws 1 kW at the most would set the month's peak.
  expect(held.sheet.gridChargeKw).toBeLessThan(held.plant.chargeKw);
  expect(held.sheet.chargeSetBy).toBe('choice');
});
