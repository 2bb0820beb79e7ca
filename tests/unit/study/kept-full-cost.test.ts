import { outage, settings, standardStrategies } from '@duskbank/core/study';
import { evaluate } from '@duskbank/core/trial';
import { expect, test } from 'vitest';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';
import { twoPriceHome } from '../../support/two-price-home.ts';

const flat = (text: string) => text.replace(/\s+/g, ' ');
const study = twoPriceHome({ evening: () => 1, plant: { floor: { share: 0.2 } } });
const hold = evaluate(study.home, standardStrategies(study)[1]!, ['bill', 'boughtOnce']);
const withSettings = (document: object) => settings(study, { tried: { document } });

test('a battery kept full costs the same, tried as a reserve or as a window of all day, and as "hold"', () => {
  const reserve = withSettings({ reservePercent: 100, schedules: [{}] });
  const allDay = withSettings({ schedules: [{ charge: { from: '22:00', to: '22:00' } }] });
  for (const { tried } of [reserve, allDay]) {
    expect(tried!.bill.total).toBeCloseTo(hold.bill.total, 2);
    expect(tried!.bill.boughtOnce).toBeCloseTo(hold.boughtOnce, 2);
  }
  expect(hold.boughtOnce).toBeGreaterThan(0.1);
  expect(flat(settingsText(reserve))).toMatch(
    /more than no battery[^.]*\.\d\d[^.]*once, to fill it|more than no battery, once, to fill it/,
  );
});

test('the price of an hour says what of it was bought once: the energy between the two reserves', () => {
  // 8 kWh in the evening: every day it is spent down to its reserve.
  const spent = twoPriceHome({ evening: () => 2, plant: { floor: { share: 0.2 } } });
  const report = outage(spent, { floors: [0.3] });
  // A tenth of 8 kWh, over the charging losses of a round trip of 85 %, at the mean price of (4 × 0.45 + 20 × 0.15) / 24.
  const once = Number(((0.8 / Math.sqrt(0.85)) * 0.2).toFixed(2));
  const [price] = report.hourPrices;
  expect(price!.costOnce).toBeCloseTo(once, 6);
  // Those 0.8 kWh carry no load on any evening: at 0.45, and weren't bought at 0.15. Nothing of it is bought once.
  const aDay = 0.8 * (0.45 * Math.sqrt(0.85) - 0.15 / Math.sqrt(0.85));
  expect(price!.costPerYear / report.axis.perYear / report.axis.spanDays).toBeCloseTo(aDay, 2);
  expect(price!.pricePerHour).toBe(price!.hoursGained > 1 / 60 ? price!.costPerYear / price!.hoursGained : null);
});

test('the page says the charging power that was tried, and what of it the plant takes', () => {
  const page = (chargeKw: number) =>
    flat(settingsText(withSettings({ chargeKw, schedules: [{ charge: { from: '22:00', to: '06:00' } }] })));
  expect(page(2)).toContain('charges 22:00–06:00 up to 100 % with 2 kW, keeps');
  expect(page(30)).toContain('with 3 kW, all that the plant takes of the 30 kW given, keeps');
});
