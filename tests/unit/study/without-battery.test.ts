import { makeAxis } from '@duskbank/core/axis';
import { InputError } from '@duskbank/core/input';
import { parseSite } from '@duskbank/core/site';
import {
  backupNeeds,
  bill,
  circuits,
  compare,
  makeStudy,
  outage,
  type Study,
  settings,
  tariffChoice,
  tariffSwitch,
} from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';

const BATTERY = { battery: { units: 1, usableKwh: 8, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.85 } };

const axis = makeAxis({
  startEpochMs: Date.UTC(2026, 3, 6, 6),
  stepMinutes: 60,
  intervals: 1344,
  zone: 'America/Denver',
});
/** 0.5 kW, and 2 kW from 18 to 20 h. */
const importKwh = Float64Array.from(axis.calendar.minuteOfDay, (minute) => (minute >= 1080 && minute < 1200 ? 2 : 0.5));
const series = { axis, importKwh } as never;

const tariffOf = (name: string, evening: number, rest: number) =>
  parseTariff({
    format: 'duskbank.tariff/1',
    name,
    currency: 'USD',
    windows: [
      { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: evening },
      { name: 'rest', otherwise: true, pricePerKwh: rest },
    ],
    fixed: [{ name: 'Base', amount: 0.2, per: 'day' }],
  });
const TARIFFS = [tariffOf('Two Prices', 0.45, 0.15), tariffOf('One Price', 0.2, 0.2)];

const siteOf = (more: object) =>
  parseSite({
    format: 'duskbank.site/1',
    name: 'Mill Row 4',
    zone: 'America/Denver',
    meter: { files: ['none.csv'] },
    tariff: 'none.json',
    ...more,
  });
const studiesOf = (more: object): Study[] => TARIFFS.map((tariff) => makeStudy({ site: siteOf(more), series, tariff }));

const faultOf = (run: () => unknown) => {
  try {
    run();
  } catch (error) {
    if (error instanceof InputError) return error.issues[0];
    throw error;
  }
  return undefined;
};

describe('a home that has no battery yet', () => {
  test('is billed as the same home with one', () => {
    const billOf = (more: object) => bill({ site: siteOf(more), series, tariff: TARIFFS[0]! }).total;
    // 56 days: 17 to 21 h takes 5 kWh at 0.45, the rest 10 kWh at 0.15, and 0.20 a day.
    expect(billOf({})).toBeCloseTo(56 * (5 * 0.45 + 10 * 0.15 + 0.2), 6);
    expect(billOf({})).toBe(billOf({ plant: BATTERY }));
  });

  test('has its tariffs compared: the same bills as beside a battery', () => {
    const choice = tariffChoice(studiesOf({}));
    const beside = tariffSwitch(studiesOf({ plant: BATTERY }));
    const bills = (rows: typeof choice.tariffSwitch.tariffs) =>
      rows.map(({ tariff, withoutBattery, unavoidable }) => ({ tariff, withoutBattery, unavoidable }));
    expect(bills(choice.tariffSwitch.tariffs)).toEqual(bills(beside.tariffSwitch.tariffs));
    // 15 kWh a day at 0.20, and 0.20 a day.
    expect(choice.tariffSwitch.steps.at(-1)).toMatchObject({ step: 'best-tariff', tariff: 'One Price', total: 179.2 });
    expect(choice.tariffSwitch.tariffs.every((row) => row.withBattery === null && row.strategy === null)).toBe(true);
    expect(choice.tariffSwitch.conclusion).toContain('Switching to "One Price" saves USD 42.00');
    expect(choice.tariffSwitch.conclusion).not.toMatch(/withheld|on top/);
  });

  test('isn’t set beside another home, another past or a tariff of the same name', () => {
    const [today, other] = studiesOf({}) as [Study, Study];
    const half = Float64Array.from(importKwh, (kwh) => kwh / 2);
    const otherHome = makeStudy({ site: siteOf({}), series: { axis, importKwh: half } as never, tariff: TARIFFS[1]! });
    const short = makeAxis({ startEpochMs: axis.startEpochMs, stepMinutes: 60, intervals: 672, zone: axis.zone });
    const otherPast = makeStudy({
      site: siteOf({}),
      series: { axis: short, importKwh: importKwh.slice(0, 672) } as never,
      tariff: TARIFFS[1]!,
    });
    expect(faultOf(() => tariffChoice([today, otherHome]))).toMatchObject({ code: 'home-differs' });
    expect(faultOf(() => tariffChoice([today, otherPast]))).toMatchObject({ code: 'axis-differs' });
    expect(faultOf(() => tariffChoice([today, other, other]))).toMatchObject({ code: 'duplicate-name' });
  });

  test('has warnings of another tariff told as those, and reports that share nothing with the study', () => {
    const [today, other] = studiesOf({}) as [Study, Study];
    const warning = { ...today.warnings[0]!, code: 'asked', message: 'asked', data: { kwh: 1 } } as never;
    const choices = [today, { ...other, warnings: [...other.warnings, warning] }];
    const told = tariffChoice(choices).warnings;
    expect(told.at(-1)).toMatchObject({ code: 'asked', data: { kwh: 1, tariff: 'One Price' } });
    for (const report of [tariffChoice(choices), backupNeeds(today)]) {
      expect(report.warnings.length).toBeGreaterThan(0);
      (report.warnings as unknown[]).length = 0;
    }
    expect(tariffChoice(choices).warnings).toEqual(told);
    expect(backupNeeds(today).warnings.length).toBe(today.warnings.length);
  });

  test('is told what an outage takes', () => {
    const { energy, circuits: listed, togetherVa } = backupNeeds(studiesOf({})[0]!);
    expect(listed).toEqual([]);
    expect(togetherVa).toBeNull();
    // Four hours of 0.5 kW on most of the day; 18 to 20 h is in five of 24 starts; 24 hours are a day.
    expect(energy!.map(({ hours }) => hours)).toEqual([4, 8, 24]);
    expect(energy![0]).toMatchObject({ usualKwh: 2, mostKwh: 5 });
    expect(energy![0]!.nineInTenKwh).toBeCloseTo(5, 9);
    expect(energy![2]!.usualKwh).toBeCloseTo(15, 9);
  });

  test('by its circuits, where they are listed', () => {
    const circuit = (name: string, watts: number, priority: number) => ({
      name,
      watts,
      leg: 'L1',
      priority,
      dutyShare: 0.5,
    });
    const needs = backupNeeds(
      studiesOf({ backup: { goalHours: 10, circuits: [circuit('Pump', 400, 2), circuit('Lights', 200, 1)] } })[0]!,
    );
    expect(needs.circuits.map(({ name, meanW }) => [name, meanW])).toEqual([
      ['Lights', 100],
      ['Pump', 200],
    ]);
    expect(needs.togetherVa).toBeCloseTo(600, 6);
    expect(needs.energy!.map(({ hours, mostKwh }) => [hours, Number(mostKwh.toFixed(6))])).toEqual([
      [4, 1.2],
      [8, 2.4],
      [10, 3],
      [24, 7.2],
    ]);
  });

  test.each([
    ['compare', (study: Study) => compare(study)],
    ['settings', (study: Study) => settings(study)],
    ['outage', (study: Study) => outage(study)],
    ['circuits', (study: Study) => circuits(study)],
    ['tariffSwitch', (study: Study) => tariffSwitch([study])],
  ])('%s says that it needs one, and what is answered without', (_, ask) => {
    const fault = faultOf(() => ask(studiesOf({})[0]!));
    expect(fault).toMatchObject({ code: 'no-battery', where: { path: ['plant'] } });
    expect(fault!.hint).toContain('"bill"');
  });
});
