import { followSheet, optimum, runStrategy, selfConsumption, windowFill } from '@duskbank/core/dispatch';
import { compare, outage as outageStudyOf, type Study, settings } from '@duskbank/core/study';
import { evaluate, withPlant } from '@duskbank/core/trial';
import { describe, expect, test } from 'vitest';
import { reserveLevelsKwh } from '../../../packages/core/src/dispatch/settings/sheet.ts';
import { twoPriceHome } from '../../support/two-price-home.ts';

// 8 kWh, 3 kW, √0.85 each way; April 6 to May 31 of 2026, the evening at 2 kW, the rest of the day at 0.2 kW.
const studyWith = (backup: Record<string, unknown>, more: { plant?: Record<string, unknown>; days?: number } = {}) =>
  twoPriceHome({
    evening: () => 2,
    plant: { floor: { share: 0.2 }, controller: { windowsPerDay: 1 }, ...more.plant },
    backup,
    ...(more.days === undefined ? {} : { days: more.days }),
  });
const outage = { from: '2026-05-12T09:00', to: '2026-05-12T17:00', noticeHours: 24 };

describe('a planned outage', () => {
  const study = studyWith({ reserve: { planned: [outage] } });
  const report = settings(study);

  test('is a dated instruction: the reserve that stands is the floor', () => {
    expect(report.sheet.reservePercent).toBe(20);
    expect(report.reserve.setBy).toBe('floor');
    expect(report.sheet.dated).toEqual([
      {
        reason: 'planned-outage',
        when: { from: '2026-05-11T09:00', to: '2026-05-12T17:00' },
        reservePercent: 100,
        thenPercent: 20,
        inFigures: true,
        // 6.4 kWh at 3 kW · √0.85.
        outage: { ...outage, fillHours: 6.4 / (3 * Math.sqrt(0.85)), verdict: 'in-time' },
      },
    ]);
  });

  test('costs the saving of its days, not of the year; headline and payback stand', () => {
    const without = settings(studyWith({}));
    const days = 56;
    expect(report.expected.savings).toBeLessThan(without.expected.savings!);
    // Full from 9 h on the day before until 17 h: one evening's saving, and what filling at day prices costs.
    expect(report.expected.savings).toBeGreaterThan(without.expected.savings! * (1 - 2 / days));
    expect(report.expected.basis).toContain('with the reserve set by hand at its dates');
    const compared = compare(study);
    expect(compared.headline!.savings).toBe(report.expected.savings);
    expect(compared.headline!.basis).toContain('set by hand');
    expect(compared.payback!.years).toBeGreaterThan(0);
    expect(compared.strategies.find((row) => row.strategy === 'settings')!.inSample!.reserveByHand).toBe(true);
  });

  test.each([followSheet(report.sheet), windowFill, selfConsumption, optimum()])(
    'is carried out in the figures: full when the grid goes down, and held until it is due back (%#)',
    (strategy) => {
      const { flows } = evaluate(study.home, strategy, ['flows']);
      const { days, minuteOfDay, day } = study.home.axis.calendar;
      const at = (date: number, hour: number) =>
        flows.socKwh.findIndex(
          (_, i) => days[day[i]!]!.month === 5 && days[day[i]!]!.dayOfMonth === date && minuteOfDay[i]! === hour * 60,
        );
      // The day before the battery has been charged by 12 h by the latest: 6.4 kWh at 3 kW.
      for (let i = at(11, 14); i < at(12, 17); i++) expect(flows.socKwh[i]).toBeCloseTo(8, 9);
      expect(flows.socKwh[at(12, 20)]).toBeLessThan(4);
      expect(flows.socKwh[at(13, 20)]).toBeLessThan(4);
    },
  );

  test('beyond the data, shortly after another one, will not be full, as within them', () => {
    // Filling 8 kWh at 3 kW · √0.85 takes 2.9 h: two hours between them are too few.
    const at = (year: number, from: string, to: string) => ({
      from: `${year}-${from}`,
      to: `${year}-${to}`,
      noticeHours: 24,
    });
    const of = (year: number) =>
      settings(
        studyWith({
          reserve: { planned: [at(year, '05-12T09:00', '05-12T14:00'), at(year, '05-12T16:00', '05-12T20:00')] },
        }),
      ).sheet.dated.map((dated) => dated.outage!.verdict);
    expect(of(2026)).toEqual(['in-time', 'after-another']);
    expect(of(2027)).toEqual(['in-time', 'after-another']);
  });

  test('near another one leaves the battery full between them, and years stand in their order', () => {
    const at = (from: string, to: string) => ({ from, to, noticeHours: 24 });
    const planned = [
      at('2027-02-01T09:00', '2027-02-01T17:00'),
      // Noticed at 20 h on the 12th, before the first is over for good on the 13th.
      at('2026-05-13T20:00', '2026-05-13T22:00'),
      at('2026-05-12T09:00', '2026-05-13T08:00'),
    ];
    const byMonth = [{ months: [12], share: 0.6 }];
    const { dated } = settings(studyWith({ reserve: { planned, byMonth } })).sheet;
    expect(dated.map(({ when, thenPercent }) => ['to' in when ? when.to : when.months, thenPercent])).toEqual([
      ['2026-05-13T08:00', 100],
      ['2026-05-13T22:00', 20],
      [[12], 20],
      ['2027-02-01T17:00', 20],
    ]);
    // The second finds the battery full.
    expect(dated[1]!.outage!.fillHours).toBe(0);
  });

  test('that the data don’t reach is printed all the same, with its filling from the reserve entered', () => {
    const later = { from: '2027-01-20T09:00', to: '2027-01-20T12:00', noticeHours: 1 };
    const { sheet, expected } = settings(studyWith({ reserve: { planned: [later] } }));
    expect(sheet.dated).toMatchObject([
      {
        when: { from: '2027-01-20T08:00', to: later.to },
        inFigures: false,
        outage: { fillHours: 6.4 / (3 * Math.sqrt(0.85)), verdict: 'too-late' },
      },
    ]);
    expect(expected.basis).not.toContain('set by hand');
    expect(settings(studyWith({})).expected.savings).toBe(expected.savings);
  });
});

describe('where some dates keep more', () => {
  const reserve = { byMonth: [{ months: [5], share: 0.6 }], planned: [outage] };
  // A load that is the same all day: of the home's own the first dear hour is the worst start, at which any sheet has it full.
  const load = { watts: 500 };
  const study = studyWith({ load, reserve });
  const floors = [0, 0.5, 1];
  const frontierOf = (of: Study) => {
    const report = outageStudyOf(of, { floors });
    const saved = report.frontier.map((point) => [
      point.floorShare,
      point.strategies.find((row) => row.strategy === report.headline)!.savingsPerYear!,
    ]);
    return { report, saved: new Map(saved as [number, number][]) };
  };
  const { report, saved } = frontierOf(study);
  const plain = frontierOf(studyWith({ load }));

  test('savings against hours have them at every floor, and repeat the sheet at its own', () => {
    expect(report.headline).toBe('settings');
    expect(saved.get(0.2)).toBeCloseTo(settings(study).expected.savingsPerYear!, 9);
    expect(plain.saved.get(0.2)).toBeCloseTo(settings(studyWith({ load })).expected.savingsPerYear!, 9);
    // May at 60 % costs something under any floor below, nothing under a higher one.
    for (const share of [0, 0.2, 0.5]) expect(saved.get(share)!, `${share}`).toBeLessThan(plain.saved.get(share)! - 1);
    expect(saved.get(1)).toBeCloseTo(plain.saved.get(1)!, 9);
    for (const point of report.frontier)
      for (const row of point.strategies)
        expect(row.savingsPerYear!, row.strategy).toBeLessThanOrEqual(point.boundSavingsPerYear! + 1e-6);
  });

  test('an hour more is priced from the reserve on the box, not from the mean of the year', () => {
    expect(report.nextHour).toMatchObject({ fromFloorShare: 0.2, toFloorShare: 0.5 });
    expect(plain.report.nextHour).toMatchObject({ fromFloorShare: 0.2, toFloorShare: 0.5 });
  });

  test('the floor at the head of a report is the one that stands, with word of the dates', () => {
    expect(report.plant).toMatchObject({ floorKwh: 1.6, floorRises: true });
    expect(plain.report.plant).toMatchObject({ floorKwh: 1.6, floorRises: false });
    const kept = studyWith({ load: { watts: 500 }, reserve: { keepHours: 2 } });
    expect(compare(kept, { strategies: [] }).plant.floorKwh).toBeCloseTo(
      (settings(kept).sheet.reservePercent / 100) * 8,
      9,
    );
  });
});

test('with a medical circuit the battery begins full, so that its worst start isn’t the data’s first hour', () => {
  const circuits = [{ name: 'Concentrator', watts: 350, leg: 'L1', priority: 1, medical: true }];
  const study = studyWith({ circuits }, { plant: { controller: undefined } });
  const report = outageStudyOf(study);
  expect([study.home.plant.startKwh, report.headline]).toEqual([8, 'settings']);
  // 8 kWh × 80 %, × √0.85 out of the battery, at 350 W.
  expect(report.strategies.find((row) => row.strategy === 'hold')!.planningHours.hours).toBeCloseTo(
    (6.4 * Math.sqrt(0.85)) / 0.35,
    6,
  );
  expect(studyWith({ circuits }, { plant: { startShare: 0.5 } }).home.plant.startKwh).toBe(4);
});

test('a sheet names the months that it was found on, and warns of the others', () => {
  const { sheet, warnings } = settings(studyWith({}));
  for (const { months } of sheet.schedules) expect(months).toEqual([4, 5]);
  const told = warnings.find(({ code }) => code === 'settings-months-unseen')!;
  expect(told.message).toContain('the data hold no Jan, Feb, Mar, Jun, Jul, Aug, Sep, Oct, Nov, Dec:');
  const halves = settings(studyWith({}, { plant: { controller: { windowsPerDay: 1, seasons: 2 } } })).sheet.schedules;
  expect(new Set(halves.flatMap(({ months }) => months))).toEqual(new Set([4, 5]));
});

// With a standby draw, so that a battery that does nothing costs something.
const battery = { units: 1, usableKwh: 8, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.85, standbyW: 10 };

describe('what stands all year', () => {
  const reserveOf = (reserve: object, more: Parameters<typeof studyWith>[1] = {}) => {
    const { sheet, reserve: held, warnings } = settings(studyWith({ load: { watts: 500 }, reserve }, more));
    return { ...sheet, ...held, warnings: warnings.map((warning) => warning.code) };
  };

  test('of floors by hour is the highest of the day', () => {
    const byHour = [
      { from: '21:00', to: '06:00', share: 0.3 },
      { from: '06:00', to: '08:00', share: 0.455 },
    ];
    expect(reserveOf({ byHour })).toMatchObject({ reservePercent: 46, setBy: 'by-hour', dated: [] });
    expect(reserveOf({ byHour: [{ from: '21:00', to: '06:00', share: 0.1 }] })).toMatchObject({
      reservePercent: 20,
      setBy: 'floor',
    });
  });

  test('of floors by month is the lowest; the others are dated, in the order of the year', () => {
    const byMonth = [
      { months: [12, 1, 2], share: 0.5 },
      { months: [2, 6], share: 0.6 },
    ];
    const { dated, ...head } = reserveOf({ byMonth, planned: [{ ...outage, to: '2026-06-01T12:00' }] });
    expect(head).toMatchObject({ reservePercent: 20, setBy: 'floor' });
    // Filling from the month before at 3 kW · √0.85, 2.77 kWh an hour: 0.8, 3.2 and 2.4 kWh.
    expect(dated.map(({ when, reservePercent, thenPercent }) => [when, reservePercent, thenPercent])).toEqual([
      [{ months: [2], leadHours: 1 }, 60, 20],
      [{ from: '2026-05-11T09:00', to: '2026-06-01T12:00' }, 100, 60],
      [{ months: [6], leadHours: 2 }, 60, 20],
      [{ months: [12, 1], leadHours: 1 }, 50, 60],
    ]);
    // The data are of April and May.
    expect(dated.map(({ inFigures }) => inFigures)).toEqual([false, true, false, false]);
    const all = reserveOf({ byMonth: [{ months: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12], share: 0.5 }] });
    expect(all).toMatchObject({ reservePercent: 50, dated: [] });
  });

  test('of hours to keep is what they take in the hungriest stretch of the data', () => {
    // 500 W for 6 h are 3 kWh, over √0.85 3.2540 kWh of 8: 40.7 %.
    const kept = reserveOf({ keepHours: 6 });
    expect(kept).toMatchObject({ reservePercent: 41, setBy: 'keep-hours', dated: [] });
    expect(kept.keepHours).toMatchObject({ hours: 6, usualPercent: 41 });
    expect(kept.keepHours!.mostKwh).toBeCloseTo(3 / Math.sqrt(0.85), 12);
  });

  test('what is enough for 9 of 10 stretches is counted over all of them, not over a week’s hungriest', () => {
    // A quarter of 2 kW on one evening a week, of 0.2 kW else: 4 of 100 stretches of 4 h touch such an evening.
    const study = twoPriceHome({
      evening: (day) => (day % 7 === 2 ? 2 : 0.2),
      plant: { controller: { windowsPerDay: 1 } },
      backup: { load: { share: 0.25 }, reserve: { keepHours: 4 } },
    });
    const { sheet, reserve } = settings(study);
    // 2 kWh over √0.85 are 27.1 % of 8 kWh; 0.2 kWh are 2.7 %.
    expect([sheet.reservePercent, reserve.keepHours!.usualPercent]).toEqual([28, 3]);
  });

  test('hours that this battery can’t keep fill it, and are told as such', () => {
    const kept = reserveOf({ keepHours: 24 });
    expect(kept).toMatchObject({ reservePercent: 100, setBy: 'keep-hours' });
    expect(kept.warnings).toContain('keep-hours-beyond-battery');
    const { warnings } = settings(
      studyWith({ load: { watts: 500 }, reserve: { keepHours: 24 } }, { plant: { battery } }),
    );
    expect(warnings.find(({ code }) => code === 'settings-lose-money')!.message).toMatch(/^all of the battery is kept/);
  });

  test('where the data are too short for the hours to keep, all is kept until they do', () => {
    // 72 h need four days before the first is seen.
    const short = reserveOf({ keepHours: 72 }, { days: 3 });
    expect(short).toMatchObject({ reservePercent: 100, setBy: 'no-history', keepHours: null });
    expect(short.warnings).toContain('reserve-no-history');
  });

  test('storm months are an advice for warnings, no reserve', () => {
    const report = settings(studyWith({ stormMonths: [4, 5] }));
    expect(report.sheet).toMatchObject({ reservePercent: 20, dated: [] });
    expect(report.reserve.stormMonths).toEqual([4, 5]);
    expect(report.expected.savings).toBe(settings(studyWith({})).expected.savings);
  });
});

describe('with a medical circuit', () => {
  const circuits = [{ name: 'Breathing machine', watts: 90, leg: 'L1', priority: 1, medical: true }];
  const reserve = { byMonth: [{ months: [1], share: 0.5 }], planned: [outage], keepHours: 2 };
  const study = studyWith({ circuits, reserve, stormMonths: [5] });
  const report = settings(study);

  test('all of the battery is kept, always, and nothing is set by date', () => {
    expect(report.sheet).toMatchObject({ reservePercent: 100, dated: [] });
    expect(report.reserve).toMatchObject({ setBy: 'medical', stormMonths: [] });
    for (const schedule of report.sheet.schedules) expect(schedule).toMatchObject({ charge: null, discharge: null });
    expect(report.cautions[0]!.code).toBe('medical');
    expect(report.warnings.map((warning) => warning.code)).toContain('reserve-full-medical');
  });

  test('the battery fills up first and gives nothing from then on, and saves nothing', () => {
    // Stated to start at the floor: 6.4 kWh to full, by the third hour.
    const atFloor = studyWith({ circuits }, { plant: { startShare: 0.2 } });
    const { sheet } = settings(atFloor);
    const { flows } = runStrategy(followSheet(sheet), atFloor.home);
    expect(Math.max(...flows.dischargeKwh)).toBe(0);
    expect(flows.socKwh[0]).toBeLessThan(5);
    expect(flows.socKwh[2]).toBeCloseTo(8, 9);
    expect(report.expected.savings).toBeLessThanOrEqual(0);
    expect(report.rolling).toBeNull();
    expect(compare(study).headline!.savings).toBe(report.expected.savings);
  });

  test('one that is not medical changes nothing', () => {
    const plain = settings(studyWith({ circuits: [{ ...circuits[0], medical: false }] }));
    expect(plain.sheet.reservePercent).toBe(20);
    expect(plain.expected.savings).toBeGreaterThan(0);
  });
});

test('levels of a plan: a dated reserve never lowers the standing one, and a stretch holds every interval it touches', () => {
  const { home } = studyWith({});
  const levels = reserveLevelsKwh(
    {
      reservePercent: 50,
      dated: [
        { reservePercent: 25, when: { months: [4, 5] } },
        { reservePercent: 75, when: { from: '2026-04-07T01:30', to: '2026-04-07T03:15' } },
      ],
    },
    home.axis,
    home.plant,
  );
  // The axis starts on April 6 at midnight.
  expect([...levels.subarray(24, 29)]).toEqual([4, 6, 6, 6, 4]);
  expect(levels.filter((kwh) => kwh !== 4)).toHaveLength(3);
});

test('a floor of some months is set so many hours before that it is kept from their first hour on', () => {
  const reserve = { byMonth: [{ months: [5], share: 0.9 }] };
  const study = twoPriceHome({
    evening: () => 1,
    plant: { controller: { windowsPerDay: 1 } },
    backup: { load: { share: 0.5 }, reserve },
  });
  const { sheet } = settings(study);
  const { plant, axis } = study.home;
  const [may] = sheet.dated;
  // The box knows nothing of the site's months: what it is told by hand alone.
  const { floorAsKnown: _, ...plain } = plant;
  const standingKwh = (sheet.reservePercent / 100) * plant.capacityKwh;
  const box = withPlant(study.home, { ...plain, floorKwh: standingKwh, startKwh: standingKwh });
  const fillKwh = ((90 - sheet.reservePercent) / 100) * plant.capacityKwh;
  const leadHours = Math.ceil(fillKwh / (plant.chargeLimitKw * plant.chargeEfficiency));
  expect(leadHours).toBeGreaterThan(0);
  expect(may!.when).toEqual({ months: [5], leadHours });
  const first = axis.calendar.month.indexOf(5);
  expect(first).toBeGreaterThan(24);
  const missed = (dated: typeof sheet.dated) => {
    // A box without windows, which comes to the month with what stands all year.
    const schedules = sheet.schedules.map((one) => ({ ...one, charge: null, discharge: null }));
    const { flows } = evaluate(box, followSheet({ ...sheet, schedules, dated }), ['flows']);
    return flows.socKwh.slice(first, first + 24).filter((kwh) => kwh < 0.9 * plant.capacityKwh - 1e-9).length;
  };
  expect(missed(sheet.dated)).toBe(0);
  // Entered at midnight it is still being filled then.
  expect(missed([{ ...may!, when: { months: [5] } }])).toBeGreaterThan(0);
});
