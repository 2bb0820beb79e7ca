import { makeAxis } from '@duskbank/core/axis';
import { followSheet } from '@duskbank/core/dispatch';
import { parseSite } from '@duskbank/core/site';
import { explain, makeStudy, settings } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { evaluate } from '@duskbank/core/trial';
import { expect, test } from 'vitest';
import { withOwnEdges } from '../../../packages/core/src/study/own-edges.ts';
import { standardStrategies } from '../../../packages/core/src/study/strategies.ts';

/** Eight weeks of 1 kW on a night price from 22:30 to 06:30: at 3 kW and 9.5 kWh any three hours of the night fill the battery. */
function nightHome(options: {
  stepMinutes?: number;
  clockMinutes?: number;
  from?: string;
  to?: string;
  demand?: readonly object[];
}) {
  const { stepMinutes = 60, clockMinutes = 30, from = '22:30', to = '06:30', demand = [] } = options;
  const site = parseSite({
    format: 'duskbank.site/1',
    name: 'Mill Row 7',
    zone: 'Etc/UTC',
    meter: { files: ['none.csv'] },
    tariff: 'none.json',
    plant: {
      battery: { units: 1, usableKwh: 9.5, chargeKw: 1.4, dischargeKw: 4.6, roundTripEfficiency: 0.9 },
      controller: { windowsPerDay: 1, clockMinutes },
    },
  });
  const intervals = (56 * 1440) / stepMinutes;
  const axis = makeAxis({ startEpochMs: Date.UTC(2026, 3, 6), stepMinutes, intervals, zone: 'Etc/UTC' });
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Two Prices',
    currency: 'EUR',
    windows: [
      { name: 'night', from, to, pricePerKwh: 0.12 },
      { name: 'day', otherwise: true, pricePerKwh: 0.29 },
    ],
    ...(demand.length === 0 ? {} : { demand }),
    export: { kind: 'none' },
  });
  const importKwh = new Float64Array(intervals).fill(stepMinutes / 60);
  return makeStudy({ site, series: { axis, importKwh } as never, tariff });
}

const told = (study: ReturnType<typeof nightHome>) =>
  settings(study).warnings.find(({ code }) => code === 'edges-within-steps');
const minutes = (clock: string) => Number(clock.slice(0, 2)) * 60 + Number(clock.slice(3));

test('hourly data enter the tariff’s own edges, 22:30 to 06:30, and the figures are the same by them', () => {
  const study = nightHome({});
  const report = settings(study);
  expect(report.sheet.schedules[0]!.charge).toEqual({ fromMinute: minutes('22:30'), toMinute: minutes('06:30') });
  expect(told(study)!.data).toEqual({
    stepMinutes: 60,
    edges: [
      { sheet: '23:00', own: '22:30', entered: true },
      { sheet: '07:00', own: '06:30', entered: true },
    ],
  });
  expect(told(study)!.message).toContain('the sheet has 22:30 in place of 23:00 and 06:30 in place of 07:00');
  // What the sheet prints, run as it stands: to the last digit what the report has of the whole past.
  const { bill } = evaluate(study.home, followSheet(report.sheet), ['bill']);
  expect(bill.total).toBe(report.inSample.bill.total);
  const strategy = standardStrategies(study).find(({ name }) => name === 'settings')!;
  expect(explain(study, strategy, 100).words[0]).toContain('charge from the grid 22:30–06:30');
});

test('a box that takes whole hours alone keeps to the data, and is told the tariff’s own edge', () => {
  const study = nightHome({ clockMinutes: 60 });
  const { charge } = settings(study).sheet.schedules[0]!;
  expect(charge!.fromMinute % 60).toBe(0);
  expect(charge!.toMinute % 60).toBe(0);
  const { message, data } = told(study)!;
  expect((data.edges as { entered: boolean }[]).map(({ entered }) => entered)).not.toContain(true);
  expect(message).toContain('Where your box takes it, enter'.toLowerCase());
  expect(message).toContain('06:30 in place of');
});

test('nothing is told where the data show the edges', () => {
  expect(told(nightHome({ stepMinutes: 30 }))).toBeUndefined();
  expect(told(nightHome({ from: '23:00', to: '07:00' }))).toBeUndefined();
});

test('hours of a charge on power within the data’s steps are told beside an edge of the sheet, and there alone', () => {
  const demand = [{ name: 'evening power', from: '17:30', to: '20:30', pricePerKw: 18 }];
  const told = (fromHour: number, toHour: number, stepMinutes?: number) => {
    const schedule = {
      months: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12],
      days: 'every day' as const,
      charge: null,
      chargeToPercent: 100,
      discharge: { fromMinute: 60 * fromHour, toMinute: 60 * toHour },
    };
    const study = nightHome({ from: '23:00', to: '07:00', demand, stepMinutes });
    return withOwnEdges(study, [schedule]).facts;
  };
  // The box lets the home draw up to 18:00 and from 20:00, half an hour of each billed by its power.
  const [fact, ...more] = told(18, 20);
  expect(more).toEqual([]);
  expect(fact).toMatchObject({
    code: 'demand-within-steps',
    data: {
      stepMinutes: 60,
      edges: [
        { charge: 'evening power', sheet: '18:00', own: '17:30' },
        { charge: 'evening power', sheet: '20:00', own: '20:30' },
      ],
    },
  });
  expect(fact!.message).toContain('"evening power" at 17:30, beside 18:00 of the sheet');
  expect(told(12, 23)).toEqual([]);
  expect(told(18, 20, 30)).toEqual([]);
});
