import { hold } from '@duskbank/core/dispatch';
import { compare, outage, settings } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { twoPriceHome } from '../../support/two-price-home.ts';

// 8 kWh at 3 kW fill in 2.9 h; a service of 1.2 kW beside a load of 0.2 to 1 kW leaves far less, and 5 h of notice are too short.
const PLANNED = { from: '2026-05-20T20:00', to: '2026-05-20T23:00', noticeHours: 5 };

test('a planned outage has one lead time and one verdict: in the warnings, in `outage` and on the sheet', () => {
  const study = twoPriceHome({
    evening: () => 1,
    plant: {
      controller: { windowsPerDay: 1 },
      battery: { units: 1, usableKwh: 8, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.85 },
    },
    backup: { load: { share: 0.5 }, reserve: { planned: [PLANNED] } },
    site: { service: { importLimitKw: 1.2 } },
  });
  const told = (warnings: readonly { code: string; data: unknown }[]) =>
    warnings.filter(({ code }) => code === 'planned-outage').map(({ data }) => data);
  const [shown] = outage(study).planned;
  expect(shown!.verdict).toBe('too-late');
  const fact = { from: PLANNED.from, verdict: 'too-late', noticeHours: 5, fillHours: shown!.fillHours };
  expect(shown!.fillHours).toBeGreaterThan(5);
  expect(told(study.warnings)).toEqual([{ ...fact, fillHours: expect.closeTo(fact.fillHours!, 9) }]);
  const report = settings(study);
  const dated = report.sheet.dated.find(({ outage: one }) => one !== null)!.outage!;
  expect(dated.verdict).toBe('too-late');
  expect(told(report.warnings)).toEqual([{ ...fact, fillHours: dated.fillHours }]);
});

test('a planned outage within the data fills beside the load of its own day, whatever other days draw', () => {
  const fillHours = (evening: (day: number) => number) => {
    const study = twoPriceHome({
      evening,
      plant: {
        controller: { windowsPerDay: 1 },
        battery: { units: 1, usableKwh: 8, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.85 },
      },
      backup: { load: { share: 0.5 }, reserve: { planned: [PLANNED] } },
      site: { service: { importLimitKw: 1.2 } },
    });
    return outage(study).planned[0]!.fillHours!;
  };
  const quiet = fillHours(() => 0.3);
  expect(fillHours(() => 1.1)).toBeGreaterThan(quiet + 0.5);
  expect(fillHours((day) => (day === 3 ? 1.1 : 0.3))).toBeCloseTo(quiet, 9);
});

test('a box that keeps all of it is full before any notice: in `outage`, in the warnings of `compare` and in those of `settings`', () => {
  // One evening of 12 kWh sets the reserve to 100 % for the hours to keep; a week later they take a third of that, and filling
  // from there takes longer than the notice.
  const study = twoPriceHome({
    evening: (day) => (day === 9 ? 3 : 0.4),
    plant: { controller: { windowsPerDay: 1 } },
    backup: {
      load: { share: 1 },
      reserve: { keepHours: 4, planned: [{ from: '2026-05-20T20:00', to: '2026-05-20T23:00', noticeHours: 1 }] },
    },
  });
  const told = ({ warnings }: { warnings: readonly { code: string }[] }) =>
    warnings.filter(({ code }) => code === 'planned-outage');
  expect(told(study)).toHaveLength(1);
  const sheet = settings(study);
  expect(sheet.sheet.reservePercent).toBe(100);
  expect(told(sheet)).toEqual([]);
  expect(told(compare(study))).toEqual([]);
  for (const headline of ['settings', 'hold']) {
    const report = outage(study, { headline });
    expect(report.planned).toMatchObject([{ verdict: 'in-time', fillHours: 0 }]);
    expect(told(report)).toEqual([]);
  }
  expect(told(compare(study, { strategies: [hold] }))).toEqual([]);
  // What doesn't follow the sheet keeps the site's floors, and fills from them.
  const spent = outage(study, { headline: 'window' });
  expect(spent.planned).toMatchObject([{ verdict: 'too-late' }]);
  expect(told(spent)).toMatchObject([{ data: { verdict: 'too-late' } }]);
});

describe('where more is kept by the hour, and a box keeps the most of the day', () => {
  const studyAt = (year: number) =>
    twoPriceHome({
      evening: () => 1,
      plant: {
        controller: { windowsPerDay: 1 },
        battery: { units: 1, usableKwh: 8, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.81 },
        floor: { share: 0.1 },
      },
      backup: {
        load: { share: 0.5 },
        reserve: {
          byHour: [{ from: '17:30', to: '21:15', share: 0.4 }],
          planned: [{ from: `${year}-05-20T08:30`, to: `${year}-05-20T15:15`, noticeHours: 2 }],
        },
      },
    });
  // 8 kWh from 40 % and from 10 %, at 3 kW · √0.81.
  const FROM_40 = (0.6 * 8) / (3 * 0.9);
  const FROM_10 = (0.9 * 8) / (3 * 0.9);
  const told = ({ warnings }: { warnings: readonly { code: string; data: Record<string, unknown> }[] }) =>
    warnings.filter(({ code }) => code === 'planned-outage').map(({ data }) => data.fillHours);

  test.each([2026, 2027])('it fills from what the box keeps, within the data and beyond them (%i)', (year) => {
    const study = studyAt(year);
    const today = { today: '2026-05-01' };
    const report = settings(study, today);
    expect(report.sheet.reservePercent).toBe(40);
    const inTime = { verdict: 'in-time', fillHours: expect.closeTo(FROM_40, 9) };
    expect(report.sheet.dated.map(({ outage: one }) => one)).toMatchObject([inTime]);
    expect(told(report)).toEqual([]);
    const byOutage = outage(study, { ...today, headline: 'settings' });
    expect(byOutage.planned).toMatchObject([inTime]);
    expect(told(byOutage)).toEqual([]);
    expect(told(compare(study, today))).toEqual([]);
  });

  test.each([2026, 2027])('a rule that follows the hours fills from what they keep at the notice (%i)', (year) => {
    const report = outage(studyAt(year), { today: '2026-05-01', headline: 'window' });
    expect(report.planned).toMatchObject([{ verdict: 'too-late', fillHours: expect.closeTo(FROM_10, 9) }]);
    expect(told(report)).toEqual([expect.closeTo(FROM_10, 9)]);
  });
});
