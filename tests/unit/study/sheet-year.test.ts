import { InputError } from '@duskbank/core/input';
import { settings } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';
import { fullCharges } from '../../../packages/core/src/study/sheet-year.ts';
import { twoPriceHome } from '../../support/two-price-home.ts';
import { winterHome } from '../../support/winter-home.ts';

const study = (more: Partial<Parameters<typeof twoPriceHome>[0]> = {}) =>
  twoPriceHome({ evening: () => 1, plant: { controller: { windowsPerDay: 1 } }, ...more });

describe('what is done by hand stands in the order of the year', () => {
  const report = settings(
    study({
      backup: {
        load: { share: 0.5 },
        stormMonths: [7, 8],
        reserve: {
          byMonth: [{ months: [12, 1], share: 0.5 }],
          planned: [{ from: '2026-09-03T09:00', to: '2026-09-03T15:00', noticeHours: 24 }],
        },
      },
    }),
  );

  test('reserves at dates, storm months, clock changes of the zone', () => {
    // The data end on 31 May 2026; Denver sets its clocks back on 1 November 2026 and forward on 14 March 2027 (tz database).
    expect(report.year.map(({ on, what, hours }) => [on, what, hours])).toEqual([
      ['2026-07-01', 'storm-season', null],
      ['2026-09-02', 'reserve', null],
      ['2026-11-01', 'clock-change', -1],
      ['2026-12-01', 'reserve', null],
      ['2027-03-14', 'clock-change', 1],
    ]);
    const text = settingsText(report);
    const places = ['Jul, Aug, the site', '2026-09-02', 'first on 2026-11-01', '1 Dec', '2027-03-14'].map((words) =>
      text.replaceAll('\n  ', ' ').replace('Jul–Aug', 'Jul, Aug').indexOf(words),
    );
    expect(places.every((at, k) => at > (places[k - 1] ?? 0))).toBe(true);
    expect(text).toContain('The day after typing it in');
  });

  test('a full charge is offered in months that go a week or more without one', () => {
    const { axis } = study().home;
    const full = new Float64Array(axis.intervals).fill(8);
    expect(fullCharges(axis, full, 8)).toEqual({
      longestDays: 0,
      from: null,
      to: null,
      months: [],
      warmDays: 0,
      warmMonths: [],
    });
    // 20 April to 9 May, twenty days: nothing above 95 %.
    const drifting = full.map((kwh, i) => (i >= 14 * 24 && i < 34 * 24 ? 7.6 : kwh));
    expect(fullCharges(axis, drifting, 8)).toEqual({
      longestDays: 20,
      from: '2026-04-20',
      to: '2026-05-09',
      months: [4, 5],
      warmDays: 20,
      warmMonths: [4, 5],
    });
    // In a May that is too cold to charge nothing can be given; April alone has eleven such days.
    expect(fullCharges(axis, drifting, 8, [5])).toMatchObject({ longestDays: 20, warmDays: 11, warmMonths: [4] });
  });

  test('nobody is told to act in the past: an outage that is over is left out, and what comes every year is the next one', () => {
    const backup = {
      load: { share: 0.5 },
      stormMonths: [7, 8],
      reserve: {
        byMonth: [{ months: [12, 1], share: 0.5 }],
        planned: [
          { from: '2026-09-03T09:00', to: '2026-09-03T15:00', noticeHours: 24 },
          { from: '2027-02-03T09:00', to: '2027-02-03T15:00', noticeHours: 24 },
        ],
      },
    };
    const { year, sheet } = settings(study({ backup }), { today: '2026-11-27' });
    expect(year.map(({ on, what }) => [on, what])).toEqual([
      ['2026-12-01', 'reserve'],
      ['2027-02-02', 'reserve'],
      ['2027-03-14', 'clock-change'],
      ['2027-07-01', 'storm-season'],
      ['2027-11-07', 'clock-change'],
    ]);
    // What is carried out in the figures stays in the sheet.
    expect(sheet.dated).toHaveLength(3);
    expect(() => settings(study(), { today: 'tomorrow' })).toThrow(InputError);
  });
});

describe('a box as it is set now', () => {
  const asSet = (document: object) => settings(study(), { tried: { document, file: 'box.json' } }).tried!;

  test('is judged as it is: the very sheet has the very bill, a worse one saves less', () => {
    const { sheet, inSample } = settings(study());
    const clock = (minute: number) =>
      `${String(Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;
    const same = asSet({
      reservePercent: sheet.reservePercent,
      schedules: sheet.schedules.map(({ months, days, charge, chargeToPercent, discharge }) => ({
        months,
        days,
        ...(charge === null
          ? {}
          : { charge: { from: clock(charge.fromMinute), to: clock(charge.toMinute), toPercent: chargeToPercent } }),
        ...(discharge === null ? {} : { carry: { from: clock(discharge.fromMinute), to: clock(discharge.toMinute) } }),
      })),
    });
    expect(same.bill.total).toBe(inSample.bill.total);
    expect(same.hours).toBe(same.sheetHours);
    // Charging in the dear hours and never giving anything back then.
    const worse = asSet({ schedules: [{ charge: { from: '17:00', to: '21:00' } }] });
    expect(worse.savings!).toBeLessThan(0);
    // 100 % kept is what `hold` does: nothing is saved.
    expect(asSet({ reservePercent: 100, schedules: [{}] }).savings!).toBeLessThanOrEqual(0);
  });

  test('a reserve under the site’s own is run as it is said', () => {
    const floor = { controller: { windowsPerDay: 1 }, floor: { share: 0.5 } };
    const low = settings(study({ plant: floor }), {
      tried: { document: { reservePercent: 10, schedules: [{ charge: { from: '00:00', to: '05:00' } }] } },
    });
    expect(low.sheet.reservePercent).toBe(50);
    // 8 kWh: half of it carries 3.7 of the evening's 4 kWh, nine tenths all of it.
    expect(low.tried!.savings!).toBeGreaterThan(low.inSample.savings!);
    expect(low.tried!.hours!).toBeLessThan(low.tried!.sheetHours!);
  });

  test.each([
    [{ schedules: [{ charge: { from: '25:00', to: '05:00' } }] }, 'schedules'],
    [{ schedules: [{ charging: { from: '23:00', to: '05:00' } }] }, 'charging'],
    [{ reservePercent: 120, schedules: [{}] }, 'reservePercent'],
    [{ schedules: [] }, 'schedules'],
  ])('what no box takes is refused with its field: %j', (document, field) => {
    expect(() => asSet(document)).toThrow(InputError);
    expect(() => asSet(document)).toThrow(field);
  });

  test('charging that the site forbids is refused', () => {
    const forbidden = study({ plant: { gridCharging: false } });
    const document = { schedules: [{ charge: { from: '23:00', to: '05:00' } }] };
    expect(() => settings(forbidden, { tried: { document } })).toThrow('the site forbids it');
  });
});

test('what keeps the charging power from being more is named', () => {
  const words = (plant: object) => settingsText(settings(winterHome({ windowsPerDay: 1 }).study(plant as never)));
  const said = (plant: object) => /^charging power from the grid +\S+ kW +(.*?) *$/m.exec(words(plant))![1];
  expect(said({})).toBe('all that the unit takes');
  expect(said({ breaker: { ampere: 10, volt: 120 } })).toBe('80 % of the breaker');
  expect(said({ chargingCord: { ampere: 10, volt: 120 } })).toBe('80 % of the charging cord');
  expect(said({ inverter: { continuousKw: 1 } })).toBe('all that the inverter passes');
});
