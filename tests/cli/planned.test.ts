import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { compareReportSchema } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { copyOf, duskbank, tooWide, wholeRun } from './support.ts';

const cents = (value: number) => Math.round(value * 100);

/** A copy of the planned home whose site file is changed. */
function changed(over: object): string {
  const folder = copyOf('planned');
  const site = JSON.parse(readFileSync(join(folder, 'site.json'), 'utf8'));
  writeFileSync(join(folder, 'site.json'), JSON.stringify({ ...site, ...over }));
  return folder;
}

describe('a home that plans solar', () => {
  const folder = copyOf('planned');

  test('compare prints today, planned solar and battery apart, within 80 columns', async () => {
    const run = duskbank(['compare', 'site.json'], folder);
    expect(run.status).toBe(0);
    expect(tooWide(run.stdout)).toEqual([]);
    await expect(wholeRun(['compare', 'site.json'], run)).toMatchFileSnapshot('golden/compare-planned.txt');
  });

  test('--json is what its schema says; savings of the battery leave out what the solar gives', () => {
    const report = JSON.parse(duskbank(['compare', 'site.json', '--json'], folder).stdout);
    expect(compareReportSchema.parse(report)).toEqual(report);
    const { plannedSolar, baseline, strategies, payback } = report;
    expect(plannedSolar.savings).toBe(baseline.bill.total - plannedSolar.bill.total);
    expect(plannedSolar.savings).toBeGreaterThan(100);
    for (const row of strategies) {
      expect(row.batterySavings).toBe(plannedSolar.bill.total - row.bill.total);
      expect(row.savings).toBe(baseline.bill.total - row.bill.total);
    }
    const headline = strategies.find((row: { strategy: string }) => row.strategy === payback.strategy);
    expect(payback.savingsPerYear).toBeCloseTo((headline.batterySavings * 365.25) / 56, 9);
    const { steps } = plannedSolar;
    const sum = steps.reduce((total: number, step: { change: number }) => total + cents(step.change), 0);
    expect(cents(steps[0].total) + sum).toBe(cents(steps[2].total));
    expect(cents(steps[0].total)).toBe(cents(baseline.bill.total));
  });

  test('the baseline, and the bill of the past, are those of the home without the plan', () => {
    const plain = changed({ plannedSolar: undefined });
    const baselineIn = (where: string) =>
      JSON.parse(duskbank(['compare', 'site.json', '--json'], where).stdout).baseline;
    expect(baselineIn(folder)).toEqual(baselineIn(plain));
    expect(duskbank(['bill', 'site.json'], folder).stdout).toBe(duskbank(['bill', 'site.json'], plain).stdout);
  });

  test('compare --tariff has the four steps, each other than zero, within 80 columns', () => {
    const tariff = readFileSync(join(folder, 'tariff.json'), 'utf8').replace(
      'Harbour Three-Rate',
      'Cheaper by a Tenth',
    );
    writeFileSync(join(folder, 'cheaper.json'), tariff.replace('0.3162', '0.2845').replace('0.1739', '0.1565'));
    const args = ['compare', 'site.json', '--tariff', 'cheaper.json'];
    const text = duskbank(args, folder);
    expect(text.status).toBe(0);
    expect(tooWide(text.stdout)).toEqual([]);
    const { steps } = JSON.parse(duskbank([...args, '--json'], folder).stdout).tariffSwitch;
    expect(steps.map((step: { step: string }) => step.step)).toEqual([
      'today',
      'best-tariff',
      'planned-solar',
      'battery',
    ]);
    for (const step of steps.slice(1)) expect(step.change).toBeLessThan(-1);
  });

  test('check says what is planned', () => {
    const run = duskbank(['check', 'site.json'], folder);
    expect(run.stdout).toContain('  planned  solar 1,125 kWh more, from the site’s file of planned production\n');
  });
});

describe('what is wrong with a planned array is told with file, field and cure', () => {
  test.each([
    [
      { scaleOfExisting: 1.5 },
      ['line 1, field "plannedSolar.scaleOfExisting"', '"plannedSolar": { "file": "array.csv" }'],
    ],
    [{ file: 'none.csv' }, ['none.csv', 'no file of this name', 'field "plannedSolar.file"']],
    [{ file: 'site.json' }, ['site.json']],
    [
      { file: { path: 'array.csv', columns: { start: 'start', solar: 'sun' } } },
      ['array.csv', 'names a column that the file doesn'],
    ],
    [
      { file: { path: 'array.csv', columns: { start: 'start', import: 'array kWh' } } },
      ['field "plannedSolar.file"', 'a column of solar production'],
    ],
    [{ scaleOfExistng: 2 }, ['did you mean "scaleOfExisting"?']],
    [{ scaleOfExisting: 2, file: 'array.csv' }, ['field "plannedSolar"', 'one of "file" and "scaleOfExisting"']],
  ])('%j', (plannedSolar, told) => {
    const run = duskbank(['compare', 'site.json'], changed({ plannedSolar }));
    expect(run).toMatchObject({ status: 2, stdout: '' });
    for (const words of told) expect(run.stderr).toContain(words);
  });
});
