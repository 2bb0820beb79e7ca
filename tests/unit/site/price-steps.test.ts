import { makeAxis } from '@duskbank/core/axis';
import { followSheet, optimum, selfConsumption } from '@duskbank/core/dispatch';
import { loadSite, parseSite } from '@duskbank/core/site';
import { billPast, circuits, explain, makeStudy, settings } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { evaluate } from '@duskbank/core/trial';
import { describe, expect, test } from 'vitest';
import { standardStrategies } from '../../../packages/core/src/study/strategies.ts';

const DAYS = 28;

/** Four weeks of a home on a night price, in steps of so many minutes; hours of `hourlyKwh` split evenly where they are shorter. */
function pastOf(options: {
  stepMinutes?: number;
  startMinute?: number;
  clockMinutes?: number;
  from?: string;
  to?: string;
  more?: object;
  plant?: object;
  backup?: object;
}) {
  const { stepMinutes = 60, startMinute = 0, clockMinutes = 30, from = '22:30', to = '06:30' } = options;
  const site = parseSite({
    format: 'duskbank.site/1',
    name: 'Mill Row 7',
    zone: 'Etc/UTC',
    meter: { files: ['none.csv'] },
    tariff: 'none.json',
    plant: {
      // At 0.6 kW the eight hours of the night don't fill it: each half hour counts.
      battery: { units: 1, usableKwh: 5, chargeKw: 0.6, dischargeKw: 2.5, roundTripEfficiency: 0.9 },
      controller: { windowsPerDay: 1, clockMinutes },
      ...options.plant,
    },
    ...(options.backup === undefined ? {} : { backup: options.backup }),
  });
  const startEpochMs = Date.UTC(2026, 3, 6) + startMinute * 60_000;
  const intervals = (DAYS * 1440) / stepMinutes;
  const axis = makeAxis({ startEpochMs, stepMinutes, intervals, zone: 'Etc/UTC' });
  const tariff = tariffOf({ from, to, ...options.more });
  const perHour = 60 / stepMinutes;
  const hourlyKwh = (hour: number) => 0.3 + 0.1 * ((hour * 7) % 11);
  const importKwh = Float64Array.from({ length: intervals }, (_, i) => hourlyKwh(Math.floor(i / perHour)) / perHour);
  return { site, series: { axis, importKwh }, tariff };
}

function tariffOf({ from, to, name = 'Two Prices', ...more }: { from: string; to: string; name?: string }) {
  return parseTariff({
    format: 'duskbank.tariff/1',
    name,
    currency: 'EUR',
    windows: [
      { name: 'night', from, to, pricePerKwh: 0.12 },
      { name: 'day', otherwise: true, pricePerKwh: 0.29 },
    ],
    export: { kind: 'none' },
    ...more,
  });
}

const studyOf = (options: Parameters<typeof pastOf>[0] = {}) => makeStudy(pastOf(options));
const split = (study: { warnings: readonly { code: string; message: string; data?: object }[] }) =>
  study.warnings.find(({ code }) => code === 'steps-split');

describe('hours of a tariff that begin within a step', () => {
  test('are met: hourly data give what the same data written by half hours give, to the cent and below', () => {
    const [hours, halves] = [studyOf(), studyOf({ stepMinutes: 30 })];
    expect(hours.home.axis).toEqual(halves.home.axis);
    expect(hours.home.loadKwh).toEqual(halves.home.loadKwh);
    expect([...new Set(hours.home.tariff.importPricePerKwh)].sort()).toEqual([0.12, 0.29]);
    expect(settings(hours).expected).toEqual(settings(halves).expected);
    const best = (study: typeof hours) => evaluate(study.home, optimum(), ['bill', 'bound']);
    expect(best(hours)).toEqual(best(halves));
    expect(split(hours)!.data).toEqual({ tariffs: ['Two Prices'], meteredMinutes: 60, stepMinutes: 30 });
    expect(split(hours)!.message).toBe(
      'the hours of "Two Prices" begin or end within the data’s steps of 60 minutes: each is reckoned as 2 of 30, its energy spread evenly over them (an assumption)',
    );
    expect(split(halves)).toBeUndefined();
    expect([hours.meteredStepMinutes, halves.meteredStepMinutes]).toEqual([60, 30]);
  });

  test('are on the sheet, which run as it stands saves what it says', () => {
    const study = studyOf();
    const report = settings(study);
    // Kept on into the dear hours, for hours of backup.
    expect(report.sheet.schedules[0]!.charge).toEqual({ fromMinute: 1350, toMinute: 990 });
    const meant = report.warnings.find(({ code }) => code === 'charges-into-dear-hours')!;
    expect(meant.message).toContain('goes on into dear hours (to 16:30) is meant so');
    const { bill } = evaluate(study.home, followSheet(report.sheet), ['bill']);
    expect(bill.total).toBe(report.inSample.bill.total);
    // 06:00 of the fifth day lies in the night, and the price is the night's.
    const at = explain(study, standardStrategies(study).find(({ name }) => name === 'settings')!, 4 * 48 + 12);
    expect(at.words[0]).toContain('charge from the grid 22:30–16:30');
    expect(at.price.importPerKwh).toBeCloseTo(0.12, 12);
  });

  test('of a box that takes whole hours alone: the best whole hours on the tariff’s own prices', () => {
    const { charge } = settings(studyOf({ clockMinutes: 60 })).sheet.schedules[0]!;
    expect(charge!.fromMinute % 60).toBe(0);
    expect(charge!.toMinute % 60).toBe(0);
  });

  test('of a tariff that follows, or is set beside, split the steps as the home’s own do, and both are named once', () => {
    const past = pastOf({ from: '23:00', to: '07:00' });
    const later = tariffOf({ from: '22:30', to: '06:30', name: 'Later' });
    const beside = tariffOf({ from: '22:30', to: '06:30', name: 'Beside' });
    const follows = makeStudy({ ...past, successors: [{ tariff: later, options: {} }] });
    const together = makeStudy({ ...past, successors: [{ tariff: later, options: {} }], comparedTariffs: [beside] });
    expect([makeStudy(past), follows, together].map(({ home }) => home.axis.stepMinutes)).toEqual([60, 30, 30]);
    expect(split(follows)!.data).toMatchObject({ tariffs: ['Later'] });
    // In one order, so that two tariffs under comparison make one warning.
    expect(split(together)!.data).toMatchObject({ tariffs: ['Beside', 'Later'] });
  });

  test('leave the data alone where steps meet them, and where no step does', () => {
    for (const options of [{ from: '23:00', to: '07:00' }, { from: '22:07', to: '07:00' }, { stepMinutes: 30 }]) {
      const study = studyOf(options);
      expect(study.home.axis.stepMinutes, JSON.stringify(options)).toBe(options.stepMinutes ?? 60);
      expect(split(study)).toBeUndefined();
    }
    const { warnings } = studyOf({ from: '22:07', to: '07:00' });
    expect(warnings.map(({ code }) => code)).toContain('window-edge-inside-step');
  });

  test('split into the longest steps that meet them', () => {
    const stepOf = (options: Parameters<typeof pastOf>[0]) => studyOf(options).home.axis.stepMinutes;
    expect(stepOf({ from: '22:20', to: '07:00' })).toBe(20);
    expect(stepOf({ from: '22:15', to: '07:00' })).toBe(15);
    expect(stepOf({ from: '22:50', to: '07:00' })).toBe(10);
    expect(stepOf({ from: '22:35', to: '07:00' })).toBe(5);
    expect(stepOf({ stepMinutes: 15, from: '22:10', to: '07:00' })).toBe(5);
    expect(stepOf({ startMinute: 30, from: '23:00', to: '07:00' })).toBe(30);
    // Of two hours of which one is met by no step, the other is.
    expect(stepOf({ from: '22:30', to: '06:37' })).toBe(30);
    const demand = [{ name: 'evening power', from: '17:30', to: '20:30', pricePerKw: 18 }];
    expect(stepOf({ from: '23:00', to: '07:00', more: { demand } })).toBe(30);
  });

  test('the load behind the transfer equipment is split along', () => {
    const { series, ...rest } = pastOf({ plant: { reach: { file: 'reach.csv' } } });
    const { home } = makeStudy({ ...rest, series, reachKwh: series.importKwh.map((kwh) => kwh / 4) });
    expect(home.plant.reach).toBeDefined();
    const { flows } = evaluate(home, selfConsumption, ['flows']);
    flows.dischargeKwh.forEach((kwh, i) => {
      expect(kwh).toBeLessThanOrEqual(home.loadKwh[i]! / 4 + 1e-9);
    });
  });

  test('what the data hide of power they hide as metered', () => {
    const demand = [{ name: 'evening power', from: '17:30', to: '20:30', pricePerKw: 18, averagingMinutes: 30 }];
    const study = studyOf({ more: { demand } });
    const averaging = study.warnings.filter(({ code }) => code === 'demand-averaging');
    expect(averaging.map(({ data }) => data)).toEqual([
      { charge: 'evening power', averagingMinutes: 30, stepMinutes: 60, splitMinutes: 30, averagedMinutes: 30 },
    ]);
    expect(averaging[0]!.message).toContain(
      'the data have 60-minute steps, whose energy is spread evenly over 30-minute ones, and 30 minutes of these are averaged',
    );
    const quarter = studyOf({ more: { demand: [{ ...demand[0]!, averagingMinutes: 15 }] } });
    expect(quarter.warnings.find(({ code }) => code === 'demand-averaging')!.data).toEqual({
      charge: 'evening power',
      averagingMinutes: 15,
      stepMinutes: 60,
      splitMinutes: 30,
      averagedMinutes: 30,
    });
    const backup = { circuits: [{ name: 'Lights', watts: 60, leg: 'L1', priority: 1 }] };
    const { measured } = circuits(studyOf({ from: '22:45', backup }))!;
    expect(measured!.doubts.join()).toContain('60-minute data hide');
  });

  test('bills are the same as before the split: energy at the mean price', () => {
    const { series, site, tariff } = pastOf({});
    const { bill, tariff: laid } = billPast({ series, site, tariff });
    const price = (hour: number) => (hour >= 23 || hour < 6 ? 0.12 : hour === 22 || hour === 6 ? 0.205 : 0.29);
    const byHand = series.importKwh.reduce((sum, kwh, i) => sum + kwh * price(i % 24), 0);
    expect(bill.total).toBeCloseTo(byHand, 1);
    expect(laid.axis.stepMinutes).toBe(30);
  });
});

test('tariffs side by side are laid on the same steps', async () => {
  const { site, series } = pastOf({});
  const files: Record<string, string> = {
    'site.json': JSON.stringify({ ...site, meter: { files: ['home.csv'] }, tariff: 'full.json' }),
    'full.json': JSON.stringify(tariffOf({ name: 'Full Hours', from: '23:00', to: '07:00' }).document),
    'half.json': JSON.stringify(tariffOf({ name: 'Half Hours', from: '22:30', to: '06:30' }).document),
    'home.csv': [
      'start,import kWh',
      ...Array.from(series.importKwh, (kwh, i) => `${new Date(Date.UTC(2026, 3, 6, i)).toISOString()},${kwh}`),
    ].join('\n'),
  };
  const loaded = await loadSite('site.json', (path) => new TextEncoder().encode(files[path]!), {
    moreTariffs: ['half.json'],
  });
  const studies = loaded.tariffs.map((tariff) => loaded.studyOf(tariff));
  expect(studies.map(({ home }) => home.axis.stepMinutes)).toEqual([30, 30]);
  expect(studies.map((study) => (split(study)!.data as { tariffs: string[] }).tariffs)).toEqual([
    ['Half Hours'],
    ['Half Hours'],
  ]);
  expect(billPast(loaded.pastOf(loaded.tariffs[0]!)).tariff.axis.stepMinutes).toBe(30);
});
