import { followSheet } from '@duskbank/core/dispatch';
import { summarizeBackup } from '@duskbank/core/outage';
import { settings } from '@duskbank/core/study';
import { evaluate, withPlant } from '@duskbank/core/trial';
import { expect, test } from 'vitest';
import { hours } from '../../../packages/cli/src/render/numbers.ts';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';
import { typedIn } from '../../support/entered.ts';
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
  expect(sheet.dated).toHaveLength(1);
  const { tried, inSample, lights } = settings(study, { tried: { document: typedIn(sheet) } });
  expect(tried!.reserveByHand).toBe(true);
  expect(tried!.savings).toBe(inSample.savings);
  expect(tried!.bill.total).toBe(inSample.bill.total);
  expect([tried!.hours, tried!.eveningHours]).toEqual([lights!.hours, lights!.eveningHours]);
  expect([tried!.sheetHours, tried!.sheetEveningHours]).toEqual([lights!.hours, lights!.eveningHours]);
});

test('settings that are tried tell hours on evenings, judged as those of the sheet, and every row', () => {
  const study = twoPriceHome({
    evening: () => 1,
    plant: { controller: { windowsPerDay: 2, seasons: 2, weekends: true }, floor: { share: 0.2 } },
    backup: { load: { watts: 500 } },
  });
  const night = { from: '22:00', to: '06:00' };
  const document = {
    reservePercent: 30,
    chargeKw: 2,
    schedules: [
      { months: [1, 4], days: 'weekends', charge: { ...night, toPercent: 60 }, carry: { from: '17:00', to: '20:00' } },
      { days: 'weekdays', charge: { from: '00:00', to: '24:00', toPercent: 80 } },
      {},
    ],
  };
  const report = settings(study, { tried: { document } });
  const { tried } = report;
  const { home, island } = study;
  const floorKwh = 0.3 * home.plant.capacityKwh;
  const at = withPlant(home, { ...home.plant, floorKwh, startKwh: floorKwh });
  const { backupHours } = evaluate(at, followSheet({ ...tried!.sheet, dated: [] }), ['backupHours']);
  expect(island.medical).toBe(false);
  const { allHours, weekdayEvenings } = summarizeBackup(home.axis, backupHours!);
  expect(tried!.eveningHours).toBeCloseTo(weekdayEvenings.p10, 9);
  expect(weekdayEvenings.p10).not.toBeCloseTo(allHours.p10, 1);
  const page = settingsText(report).replace(/\s+/g, ' ');
  expect(page).toContain('(in 3 rows, charging with 2 kW, keeps 30 %)');
  expect(page).toContain(`(${hours(weekdayEvenings.p10)} on weekday evenings)`);
  expect(page).toContain(
    'Its rows, of which the first that fits a day holds: Jan, Apr weekends: charges 22:00–06:00 up to 60 %, carries load 17:00–20:00; all year weekdays: charges all day up to 80 % and never carries load; all year every day: never charges from the grid.',
  );
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
