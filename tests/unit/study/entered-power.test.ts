import { followSheet } from '@duskbank/core/dispatch';
import { compare, outage, type Study, settings } from '@duskbank/core/study';
import { evaluate, withPlant } from '@duskbank/core/trial';
import { expect, test } from 'vitest';
import { twoPriceHome } from '../../support/two-price-home.ts';

// 8 kWh, 3 kW, √0.85 each way; April 6 to May 31, two prices, and in May 90 % of it kept.
const home = (more: { tariff?: Record<string, unknown>; site?: Record<string, unknown>; decay?: number }) =>
  twoPriceHome({
    evening: () => 1,
    plant: {
      controller: { windowsPerDay: 1 },
      battery: { units: 1, usableKwh: 8, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.85 },
    },
    backup: { load: { share: 0.5 }, reserve: { byMonth: [{ months: [5], share: 0.9 }] } },
    ...(more.tariff === undefined ? {} : { tariff: more.tariff }),
    ...(more.site === undefined ? {} : { site: more.site }),
  });
/** Every kW of a month's peak costs 25: filling up slowly is what pays. */
const DEMAND = { demand: [{ name: 'peak', pricePerKw: 25 }] };

/** The box as it is: it knows nothing of the site's months, only what was entered, and what is set by hand. */
function boxOf({ home: at }: Study, standingPercent: number) {
  const { floorAsKnown: _, ...plain } = at.plant;
  const standingKwh = (standingPercent / 100) * plain.capacityKwh;
  return withPlant(at, { ...plain, floorKwh: standingKwh, startKwh: standingKwh });
}

/** Hours of 1 May in which the month's reserve isn't there, on a box without windows. */
function missedOn1May(study: Study, sheet: ReturnType<typeof settings>['sheet']): number {
  const schedules = sheet.schedules.map((one) => ({ ...one, charge: null, discharge: null }));
  const { flows } = evaluate(boxOf(study, sheet.reservePercent), followSheet({ ...sheet, schedules }), ['flows']);
  const first = study.home.axis.calendar.month.indexOf(5);
  const kept = 0.9 * study.home.plant.capacityKwh - 1e-9;
  return flows.socKwh.slice(first, first + 24).filter((kwh) => kwh < kept).length;
}

test('a month’s reserve is set as early as filling takes with the power that the sheet enters', () => {
  const study = home({ tariff: DEMAND });
  const { sheet } = settings(study);
  const { plant } = study.home;
  expect(sheet.gridChargeKw).toBeLessThan(plant.chargeLimitKw / 1.9);
  const fillKwh = ((90 - sheet.reservePercent) / 100) * plant.capacityKwh;
  const leadHours = Math.ceil(fillKwh / (sheet.gridChargeKw * plant.chargeEfficiency));
  expect(leadHours).toBeGreaterThan(Math.ceil(fillKwh / (plant.chargeLimitKw * plant.chargeEfficiency)));
  expect(sheet.dated[0]!.when).toEqual({ months: [5], leadHours });
  expect(missedOn1May(study, sheet)).toBe(0);
});

test('what a service leaves beside the home’s own load counts in the time that filling takes', () => {
  // 0.2 kW after 21 h and 1 kW in the evening: under 1.2 kW the battery takes 1.0 and 0.2 kW.
  const study = home({ site: { service: { importLimitKw: 1.2 } } });
  const { sheet } = settings(study);
  const fillKwh = ((90 - sheet.reservePercent) / 100) * 8;
  const eta = Math.sqrt(0.85);
  // Backwards from midnight: 3 h at 1.0 kW, 4 h of the evening at 0.2 kW, then 1.0 kW again.
  const leadHours = Math.ceil(7 + (fillKwh / eta - 3 * 1 - 4 * 0.2) / 1);
  expect(sheet.dated[0]!.when).toEqual({ months: [5], leadHours });
  expect(missedOn1May(study, sheet)).toBe(0);
});

test('a box buys all for the battery with the power that is entered, what the reserve lacks too', () => {
  const study = home({});
  const at = boxOf(study, 20);
  const sheet = {
    reservePercent: 20,
    dated: [{ reservePercent: 100, when: { from: '2026-04-20T00:00', to: '2026-04-22T00:00' } }],
    gridChargeKw: 0.8,
    schedules: [{ months: [4, 5], days: 'every day' as const, charge: null, chargeToPercent: 0, discharge: null }],
  };
  const { flows } = evaluate(at, followSheet(sheet), ['flows']);
  expect(Math.max(...flows.chargeKwh)).toBeCloseTo(0.8, 9);
  expect(Math.max(...flows.socKwh)).toBeCloseTo(8, 9);
});

test('a planned outage is in time, or too late, by the power that is entered', () => {
  const planned = [{ from: '2026-05-12T20:00', to: '2026-05-12T23:00', noticeHours: 4 }];
  const at = (tariff?: Record<string, unknown>) =>
    twoPriceHome({
      evening: () => 1,
      plant: { controller: { windowsPerDay: 1 } },
      backup: { load: { share: 0.5 }, reserve: { planned } },
      ...(tariff === undefined ? {} : { tariff }),
    });
  const told = (study: Study) => {
    const { sheet } = settings(study);
    return { kw: sheet.gridChargeKw, ...sheet.dated[0]!.outage! };
  };
  // 8 kWh at 3 kW · √0.85 take 2.9 h.
  expect(told(at())).toMatchObject({ kw: 3, verdict: 'in-time' });
  const slow = told(at(DEMAND));
  expect(slow.fillHours).toBeCloseTo(8 / (slow.kw * Math.sqrt(0.85)), 9);
  expect(slow.verdict).toBe('too-late');
});

test('a storm and a planned outage are filled for with the power that the headline’s sheet enters, on every page', () => {
  const reserve = { planned: [{ from: '2026-05-12T08:00', to: '2026-05-12T10:00', noticeHours: 4 }] };
  const study = twoPriceHome({
    evening: () => 1,
    plant: {
      controller: { windowsPerDay: 1 },
      battery: { units: 1, usableKwh: 8, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.85 },
    },
    backup: { load: { share: 0.5 }, reserve },
    tariff: DEMAND,
  });
  const { sheet } = settings(study);
  const { plant } = study.home;
  const hoursAt = (kw: number) => ((1 - sheet.reservePercent / 100) * 8) / (kw * plant.chargeEfficiency);
  // At full power the notice is long enough, with that of the sheet it isn't.
  expect(hoursAt(plant.chargeLimitKw)).toBeLessThan(4);
  expect(hoursAt(sheet.gridChargeKw)).toBeGreaterThan(4);
  const report = outage(study, { floors: [], headline: 'settings' });
  expect(report.planned).toMatchObject([{ verdict: 'too-late' }]);
  expect(report.planned[0]!.fillHours).toBeCloseTo(hoursAt(sheet.gridChargeKw), 6);
  expect(report.storm!.fillHours).toBeCloseTo(hoursAt(sheet.gridChargeKw), 6);
  // "hold" buys with all that the plant takes.
  const held = outage(study, { floors: [], headline: 'hold' });
  expect(held.planned).toMatchObject([{ verdict: 'in-time' }]);
  expect(held.storm!.fillHours).toBeLessThan(4);
  const compared = compare(study);
  expect(compared.headline!.strategy).toBe('settings');
  expect(compared.storm!.fillHours).toBe(report.storm!.fillHours);
  const told = (warnings: typeof compared.warnings) => warnings.filter(({ code }) => code === 'planned-outage');
  expect(told(compared.warnings).map(({ data }) => data.verdict)).toEqual(['too-late']);
  expect(told(report.warnings)).toEqual(told(compared.warnings));
});
