// A study is not made of data that no result may rest on: neither by the command line nor by a program.
import { readFileSync } from 'node:fs';
import { type Fact, InputError, type InputIssue } from '@duskbank/core/input';
import { type Finding, type IntervalSeries, parseIntervalData, repairGaps } from '@duskbank/core/meter';
import { makeStudy, parseSite, type Site } from '@duskbank/core/site';
import { parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import { serviceLimit } from '../../../packages/core/src/site/trust.ts';

const demo = (name: string) => readFileSync(new URL(`../../../fixtures/demo/${name}`, import.meta.url), 'utf8');
const site = parseSite(JSON.parse(demo('site.json')));
const tariff = parseTariff(JSON.parse(demo('tariff.json')));
const { series } = repairGaps(parseIntervalData(demo('home.csv'), { zone: site.zone }).series!);

function issuesOf(step: () => void): readonly InputIssue[] {
  try {
    step();
  } catch (error) {
    if (error instanceof InputError) return error.issues;
    throw error;
  }
  return [];
}
/** The demo home with one cell of import changed. */
const withImport = (i: number, kwh: number): IntervalSeries => ({
  ...series,
  importKwh: series.importKwh!.map((value, k) => (k === i ? kwh : value)),
});

describe('what the service carries', () => {
  const limit = (stated: Pick<Site, 'service' | 'backup'>) => {
    const { drawKw, feedKw } = serviceLimit(stated);
    return [drawKw, feedKw];
  };
  test('is the main breaker, amperes times volts, or a larger stated limit; else 100 kW', () => {
    expect(limit({})).toEqual([100, 100]);
    // 125 A × 240 V; an export limit of 5 kW is the utility's, not the wires'.
    expect(limit(site)).toEqual([30, 30]);
    expect(limit({ backup: { panel: { mainAmps: 100, volts: 208 } } })).toEqual([20.8, 20.8]);
    expect(limit({ service: { importLimitKw: 9, exportLimitKw: 0 } })).toEqual([100, 100]);
    expect(limit({ service: { importLimitKw: 9 }, backup: { panel: { mainAmps: 100 } } })).toEqual([24, 24]);
    expect(limit({ service: { importLimitKw: 30 }, backup: { panel: { mainAmps: 100 } } })).toEqual([30, 24]);
    expect(limit({ backup: { panel: { mainAmps: 600 } } })).toEqual([144, 144]);
    expect(limit({ service: { exportLimitKw: 150 } })).toEqual([100, 150]);
  });
});

describe('makeStudy', () => {
  test('withholds savings where a bill contradicts the meter, or nobody knows what a row holds', () => {
    const withheld = (code: string, data: Finding['data']) =>
      makeStudy({ site, series, tariff, findings: [{ code, severity: 'warning', where: {}, message: '', data }] })
        .savingsWithheld;
    const billed = { meteredKwh: 4603, billedKwh: 9000, share: 0.489 };
    expect(withheld('billed-differs', { ...billed, withheld: true })).toMatch(/9,000 kWh were billed.*4,603 kWh/);
    expect(withheld('billed-differs', { ...billed, billedKwh: 4450, share: 0.034, withheld: false })).toBeUndefined();
    const whole = { channel: 'import', readings: 8784, energyKwh: 3099, lostKwh: 4392 };
    expect(withheld('whole-kwh', { ...whole, withheld: true })).toMatch(/whole kWh alone, 3,099 in all/);
    expect(withheld('whole-kwh', { ...whole, withheld: false })).toBeUndefined();
    const total = { column: 'column 2', totalKwh: 5802, readKwh: 4653, share: 0.198 };
    expect(withheld('totals-differ', { ...total, withheld: true })).toMatch(/says 5,802 kWh.*hold 4,653 kWh/);
    expect(withheld('totals-differ', { ...total, withheld: false })).toBeUndefined();
    const left = { left: [{ stream: 'rows of "NT"', energyKwh: 2038 }], share: 0.27 };
    expect(withheld('energy-left-out', { ...left, withheld: true })).toMatch(/rows of "NT" \(2,038 kWh\), 27 %/);
    expect(withheld('energy-left-out', { ...left, withheld: false })).toBeUndefined();
    const beside = {
      columns: [{ column: 'column 5', energyKwh: 2038 }],
      read: ['column 4'],
      role: 'import',
      share: 0.27,
    };
    expect(withheld('columns-beside', { ...beside, withheld: true })).toMatch(
      /column 5 \(2,038 kWh\) is of import too/,
    );
    expect(withheld('columns-beside', { ...beside, withheld: false })).toBeUndefined();
    expect(withheld('grid-reversed', { exportShare: 0.99, exportKwh: 2000 })).toMatch(/exports through the night/);
    expect(withheld('net-signs-lost', { risePerSolar: 0.9 })).toMatch(/what was exported counts as bought/);
    const hours = { stepMinutes: 15, equalShare: 1, kwhADay: 50.3, channel: 'import' };
    expect(withheld('hourly-in-quarters', { ...hours, settled: false })).toMatch(/several times over/);
    expect(withheld('hourly-in-quarters', { ...hours, settled: true })).toBeUndefined();
  });

  test('takes the demo home as it is', () => {
    expect(issuesOf(() => makeStudy({ site, series, tariff }))).toEqual([]);
  });

  test('refuses a reading above the service, with its time', () => {
    // 7.5 kWh in a quarter of an hour are the 30 kW of the main breaker.
    expect(issuesOf(() => makeStudy({ site, series: withImport(76, 7.5), tariff }))).toEqual([]);
    for (const kwh of [7.51, 959]) {
      const issues = issuesOf(() => makeStudy({ site, series: withImport(76, kwh), tariff }));
      expect(issues).toMatchObject([{ code: 'reading-above-service', where: { column: 'import' } }]);
      expect(issues[0]!.received).toContain('2025-01-01 19:00');
      expect(issues[0]!.expected).toContain('30 kW: a main breaker of 125 A at 240 V');
    }
  });

  test('refuses it in the planned array and in the load behind the transfer equipment too', () => {
    const planned = { ...site, plannedSolar: { file: 'array.csv' } };
    const array = (kwh: number): IntervalSeries => ({
      axis: series.axis,
      solarKwh: series.solarKwh!.map((value, i) => (i === 40 ? kwh : value)),
    });
    expect(issuesOf(() => makeStudy({ site: planned, series, tariff, plannedSolar: { series: array(1) } }))).toEqual(
      [],
    );
    expect(
      issuesOf(() => makeStudy({ site: planned, series, tariff, plannedSolar: { series: array(80) } })),
    ).toMatchObject([{ code: 'reading-above-service', where: { path: ['plannedSolar', 'file'], column: 'solar' } }]);
    const reach = parseSite({
      ...JSON.parse(demo('site.json')),
      plant: { ...JSON.parse(demo('site.json')).plant, reach: { file: 'sub.csv' } },
    });
    const reachKwh = new Float64Array(series.axis.intervals).fill(0.05);
    expect(issuesOf(() => makeStudy({ site: reach, series, tariff, reachKwh }))).toEqual([]);
    reachKwh[9] = 50;
    expect(issuesOf(() => makeStudy({ site: reach, series, tariff, reachKwh }))).toMatchObject([
      { code: 'reading-above-service', where: { path: ['plant', 'reach', 'file'] } },
    ]);
  });

  test.each(['not-a-number', 'negative-value', 'truncated', 'unreadable-row', 'reading-above-service'])(
    'refuses the finding %s, with its line',
    (code) => {
      const finding: Finding = {
        code,
        severity: code === 'reading-above-service' ? 'error' : 'warning',
        where: {},
        data: {},
        message: 'as reading said',
        lines: [77],
      };
      expect(issuesOf(() => makeStudy({ site, series, tariff, findings: [finding] }))).toMatchObject([
        { code, where: { line: 77 }, received: 'as reading said' },
      ]);
    },
  );

  test('takes other warnings along', () => {
    const finding: Fact = {
      code: 'row-without-time',
      severity: 'warning',
      where: { line: 9 },
      data: { rows: 1 },
      message: 'a footer',
    };
    const { warnings } = makeStudy({
      site,
      series,
      tariff,
      findings: [{ ...finding, severity: 'warning', lines: [9], count: 1 }],
    });
    expect(warnings).toContainEqual(finding);
  });
});
