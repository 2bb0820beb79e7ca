import { makeAxis } from '@duskbank/core/axis';
import { hold } from '@duskbank/core/dispatch';
import { InputError } from '@duskbank/core/input';
import type { IntervalSeries } from '@duskbank/core/meter';
import { parseSite } from '@duskbank/core/site';
import { compare, makeStudy } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';

// A week of hours from Monday 5 January 2026 on, in a zone without clock changes.
const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 168, zone: 'Etc/UTC' });
const every = (value: number) => new Float64Array(168).fill(value);
/** Sun from 9 to 15 h. */
const sun = (kwh: number) => Float64Array.from({ length: 168 }, (_, i) => (i % 24 >= 9 && i % 24 < 15 ? kwh : 0));

const site = (plant: object = {}, more: object = {}) =>
  parseSite({
    ...more,
    format: 'duskbank.site/1',
    name: 'A home',
    zone: 'Etc/UTC',
    meter: { files: ['home.csv'] },
    tariff: 'tariff.json',
    plant: {
      battery: { units: 1, usableKwh: 4, chargeKw: 2, dischargeKw: 2, chargeEfficiency: 0.8, dischargeEfficiency: 1 },
      floor: { kwh: 1 },
      ...plant,
    },
  });
const tariff = parseTariff({
  format: 'duskbank.tariff/1',
  name: 'Two prices',
  currency: 'USD',
  windows: [
    { name: 'peak', from: '16:00', to: '22:00', pricePerKwh: 0.4 },
    { name: 'rest', otherwise: true, pricePerKwh: 0.2 },
  ],
  export: { kind: 'net-billing', pricePerKwh: 0.05 },
});
const study = (channels: Omit<IntervalSeries, 'axis'>, plant?: object) =>
  makeStudy({ site: site(plant), series: { axis, ...channels }, tariff });
const codes = (made: { warnings: readonly { code: string }[] }) => made.warnings.map(({ code }) => code);
const sum = (values: Float64Array) => values.reduce((total, value) => total + value, 0);

describe('load and solar from what was metered', () => {
  test('net = import − export, load = net + solar', () => {
    // At noon 3 kWh of sun, 2 sold, none bought: the home took 1.
    const made = study({
      importKwh: sun(0).map((_, i) => (sun(3)[i]! > 0 ? 0 : 1)),
      exportKwh: sun(2),
      solarKwh: sun(3),
    });
    expect(made.loadKnown).toBe(true);
    expect([...made.home.loadKwh]).toEqual([...every(1)]);
    expect([...made.home.solarKwh]).toEqual([...sun(3)]);
  });

  test('without a solar column the load behind the meter is unknown: bills hold, hours of backup are withheld', () => {
    const made = study({ importKwh: sun(0).map((_, i) => (sun(3)[i]! > 0 ? 0 : 1)), exportKwh: sun(2) });
    expect(made.loadKnown).toBe(false);
    expect(codes(made)).toContain('load-unknown');
    const report = compare(made);
    // 7 days × (6 peak hours × 0.40 + 12 other hours × 0.20 − 6 × 2 kWh × 0.05), 1 kWh an hour outside the sun.
    expect(report.baseline.bill.total).toBeCloseTo(7 * (6 * 0.4 + 12 * 0.2 - 12 * 0.05), 9);
    for (const row of report.strategies) expect(row.backupHours).toBeNull();
  });

  test('without a solar column listed circuits, or watts, tell hours of backup all the same', () => {
    const channels = { importKwh: sun(0).map((_, i) => (sun(3)[i]! > 0 ? 0 : 1)), exportKwh: sun(2) };
    const hoursWith = (backup: object | undefined) => {
      const own = site({}, backup === undefined ? {} : { backup });
      const made = makeStudy({ site: own, series: { axis, ...channels }, tariff });
      expect(made.loadKnown).toBe(false);
      const { strategies, storm } = compare(made);
      return [strategies.find((row) => row.strategy === 'hold')!.backupHours?.median ?? null, storm === null];
    };
    expect(hoursWith(undefined)).toEqual([null, true]);
    // 4 kWh, all of it delivered: 500 W take 8 h.
    const circuit = { name: 'Lights', leg: 'L1', watts: 500, dutyShare: 1, priority: 1 };
    for (const backup of [{ load: { watts: 500 } }, { circuits: [circuit] }]) {
      const [half, noStorm] = hoursWith(backup);
      expect(half).toBeCloseTo(8, 6);
      expect(noStorm).toBe(false);
    }
    // A share of what isn't known stays unknown, circuits or not.
    expect(hoursWith({ load: { share: 0.5 }, circuits: [circuit] })).toEqual([null, true]);
  });

  test('what is bought alone, by its look, tells no hours: the load by day is carried by panels that no file tells of', () => {
    const importKwh = sun(0).map((_, i) => (sun(3)[i]! > 0 ? 0 : 1));
    const told = (data: object) =>
      makeStudy({
        site: site(),
        series: { axis, importKwh },
        tariff,
        findings: [
          {
            code: 'sun-unseen',
            severity: 'warning',
            message: 'seen',
            where: {},
            data: { channel: 'import', share: 1, nightShare: 0, days: 7, ...data },
          },
        ],
      });
    // That nothing is sold answers for the bill; what the panels carry is known as little.
    for (const data of [{}, { stated: true }]) {
      expect(told(data).loadKnown).toBe(false);
      for (const row of compare(told(data)).strategies) expect(row.backupHours).toBeNull();
    }
  });

  test('energy both ways within one interval is netted, and said so', () => {
    const made = study({ importKwh: every(1), exportKwh: every(0.25), solarKwh: every(0.5) });
    expect(codes(made)).toContain('netted-within-interval');
    expect(sum(made.home.loadKwh)).toBeCloseTo(168 * 1.25, 9);
    expect(compare(made).baseline.importKwh).toBeCloseTo(168 * 0.75, 9);
  });

  test('export beyond the metered solar stays in the balance, and the transformer is suspected', () => {
    const made = study({ importKwh: every(0), exportKwh: sun(2), solarKwh: sun(1.5) });
    expect(codes(made)).toContain('export-above-solar');
    expect(Math.min(...made.home.loadKwh)).toBe(0);
    expect(compare(made).baseline.exportKwh).toBeCloseTo(sum(sun(2)), 9);
  });

  test('export while the array is dark withholds every saving', () => {
    const made = study({ importKwh: every(0.5), exportKwh: every(0.6), solarKwh: sun(3) });
    expect(made.savingsWithheld).toMatch(/battery already/);
    expect(codes(made)).toContain('battery-in-data');
    const report = compare(made);
    for (const row of report.strategies)
      expect(row).toMatchObject({ savings: null, savingsPerYear: null, capturedShare: null });
  });
});

describe('bases of the numbers', () => {
  test('too many estimates withhold the saving; a few are told', () => {
    const marked = (count: number) => Uint8Array.from({ length: 168 }, (_, i) => (i < count ? 1 : 0));
    const few = study({ loadKwh: every(1), estimated: marked(4) });
    expect(few.savingsWithheld).toBeUndefined();
    expect(codes(few)).toContain('estimated-intervals');
    expect(few.estimatedShare).toBeCloseTo(4 / 168, 12);
    const many = study({ loadKwh: every(1), estimated: marked(40) });
    expect(codes(many)).toContain('too-many-estimates');
    expect(compare(many).strategies.every((row) => row.savings === null)).toBe(true);
  });

  test('a gap that is left stops the study and says where', () => {
    const loadKwh = every(1);
    loadKwh[5] = Number.NaN;
    expect(() => study({ loadKwh })).toThrow(InputError);
    expect(() => study({ loadKwh })).toThrow(/no reading on 2026-01-05, 1 hour;/);
  });

  test('none equals the baseline exactly, and a week is said to be short', () => {
    const report = compare(study({ loadKwh: every(1), solarKwh: sun(3) }));
    const none = report.strategies.find((row) => row.strategy === 'none')!;
    expect(none.bill.total).toBe(report.baseline.bill.total);
    expect(none.savings).toBe(0);
    expect(report.warnings.map(({ code }) => code)).toContain('short-span');
    const window = report.strategies.find((row) => row.strategy === 'window')!;
    // A week scaled to a year: 365.25 ÷ 7.
    expect(window.savingsPerYear).toBeCloseTo((window.savings! * 365.25) / 7, 9);
  });

  test('energy above the floor at the start is bought once, at the mean price over the charging losses', () => {
    const report = compare(study({ loadKwh: every(1) }, { startShare: 0.75 }));
    // 3 kWh stored, floor 1: 2 kWh ÷ 0.8 at (6 × 0.40 + 18 × 0.20) ÷ 24 = 0.25 are 0.625, to the cent.
    const window = report.strategies.find((row) => row.strategy === 'window')!;
    expect(window.startKwh).toBe(3);
    expect(window.bill.startEnergy).toBe(0.63);
    expect(report.strategies.find((row) => row.strategy === 'none')!.bill.startEnergy).toBe(0);
    // It is given again every evening: nothing else was bought once.
    expect(window.bill.boughtOnce).toBe(0.63);
  });

  test('the first filling is bought once as well, where it is never given again', () => {
    const boughtOnce = (loadKwh: number, solarKwh: number, plant?: object) => {
      const report = compare(study({ loadKwh: every(loadKwh), solarKwh: sun(solarKwh) }, plant), {
        strategies: [hold],
      });
      return report.strategies[0]!.bill.boughtOnce;
    };
    // From 1 to 4 kWh: 3 ÷ 0.8 = 3.75 kWh at midnight's 0.20.
    expect(boughtOnce(1, 0)).toBeCloseTo(0.75, 9);
    // Charged from the sun alone, it costs what that would have sold for: 3.75 × 0.05, in lines of a cent.
    expect(boughtOnce(1, 3, { gridCharging: false })).toBeCloseTo(0.19, 2);
    // From 3 kWh on: 0.63 to start with, and 1 ÷ 0.8 = 1.25 kWh at 0.20.
    expect(boughtOnce(1, 0, { startShare: 0.75 })).toBeCloseTo(0.63 + 0.25, 9);
  });
});
