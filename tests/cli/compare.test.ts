import { chmodSync, existsSync, lstatSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { compareReportSchema } from '@duskbank/core/study';
import Papa from 'papaparse';
import { describe, expect, test } from 'vitest';
import { copyOf, duskbank, folderWith, tooWide, wholeRun } from './support.ts';

const STANDARD = ['none', 'hold', 'self-consumption', 'window', 'peak-shave'];

describe.each([
  ['demo', 'site.json'],
  ['small', 'site.yaml'],
])('compare of the %s home', (fixture, site) => {
  const folder = copyOf(fixture);

  test('prints a report that fits a terminal of 80 columns', async () => {
    const run = duskbank(['compare', site], folder);
    expect(run.status).toBe(0);
    expect(run.stderr).toBe('');
    expect(tooWide(run.stdout)).toEqual([]);
    expect(run.stdout).toContain('modelled, not metered');
    await expect(wholeRun(['compare', site], run)).toMatchFileSnapshot(`golden/compare-${fixture}.txt`);
  });

  test('--json prints one object that is what its schema says, key by key', () => {
    const run = duskbank(['compare', site, '--json'], folder);
    expect(run.status).toBe(0);
    const printed = JSON.parse(run.stdout);
    // The schema drops what it doesn't know, so that equality means: no key more, no key less.
    expect(compareReportSchema.parse(printed)).toEqual(printed);
    const names = printed.strategies.map((row: { strategy: string }) => row.strategy);
    expect(names).toEqual(expect.arrayContaining(STANDARD));
    for (const row of printed.strategies) {
      // Both are differences of the same two numbers.
      expect(row.savings).toBe(printed.baseline.bill.total - row.bill.total);
      // 1e-6 kWh: sums of some 35,000 terms.
      expect(row.lossKwh).toBeCloseTo(row.chargedKwh - row.dischargedKwh - (row.endKwh - row.startKwh), 6);
    }
    expect(printed.strategies[0]).toMatchObject({
      strategy: 'none',
      savings: 0,
      bill: { total: printed.baseline.bill.total },
      reserve: null,
      backupHours: null,
    });
    for (const warning of printed.warnings) expect(run.stderr).toContain(`warning: ${warning.message}\n`);
  });

  test('--csv prints one row a strategy, with the numbers of --json', () => {
    const run = duskbank(['compare', site, '--csv'], folder);
    expect(run.status).toBe(0);
    const { data, errors, meta } = Papa.parse<Record<string, string>>(run.stdout.trim(), { header: true });
    expect(errors).toEqual([]);
    expect(new Set(meta.fields).size).toBe(meta.fields!.length);
    const report = JSON.parse(duskbank(['compare', site, '--json'], folder).stdout);
    expect(data).toHaveLength(report.strategies.length);
    for (const [k, row] of data.entries()) {
      const told = report.strategies[k];
      expect(row.strategy).toBe(told.strategy);
      expect(Number(row.bill)).toBe(told.bill.total);
      expect(Number(row.savings)).toBe(told.savings);
      expect(Number(row['import kWh'])).toBe(told.importKwh);
      expect(Number(row['equivalent full cycles'])).toBe(told.equivalentFullCycles);
      expect(row['backup h, all median']).toBe(told.backupHours === null ? '' : String(told.backupHours.median));
    }
  });
});

test('--json holds every key of the contract', () => {
  const report = JSON.parse(duskbank(['compare', 'site.yaml', '--json'], copyOf('small')).stdout);
  const has = (value: object, keys: string) =>
    expect(Object.keys(value)).toEqual(expect.arrayContaining(keys.split(' ')));
  has(report, 'format version axis currency baseline strategies bound warnings');
  expect(report.format).toBe('duskbank.compare/1');
  expect(report.axis).toEqual({
    // 31 March to 20 April 2025 in Adelaide: +10:30 until 6 April, +9:30 after; 21 × 48 + 2 half hours.
    start: '2025-03-30T13:30:00.000Z',
    end: '2025-04-20T14:30:00.000Z',
    firstDay: '2025-03-31',
    lastDay: '2025-04-20',
    localDays: 21,
    spanDays: 505 / 24,
    perYear: 365.25 / (505 / 24),
    isYear: false,
    zone: 'Australia/Adelaide',
    stepMinutes: 30,
    intervals: 1010,
  });
  expect(report.currency).toBe('AUD');
  has(report.baseline, 'bill importKwh exportKwh peakImportKw');
  has(report.baseline.bill, 'total');
  for (const row of report.strategies) {
    has(
      row,
      'strategy causal bill savings importKwh exportKwh chargedKwh dischargedKwh lossKwh standbyKwh curtailedKwh ' +
        'unservedKwh equivalentFullCycles startKwh endKwh reserve backupHours capturedShare',
    );
    has(row.bill, 'total');
    if (row.strategy === 'none') continue;
    has(row.reserve, 'minKwh p10Kwh medianKwh');
    has(row.backupHours, 'p10 median');
  }
  if (report.bound !== null) has(report.bound, 'billTotal proof gap');
  for (const warning of report.warnings) has(warning, 'code message');
});

interface Flow {
  [column: string]: string | number;
}

function readFlows(path: string): Flow[] {
  const { data, errors } = Papa.parse<Flow>(readFileSync(path, 'utf8').trimEnd(), {
    header: true,
    dynamicTyping: true,
  });
  expect(errors).toEqual([]);
  return data;
}

describe('--intervals', () => {
  test('writes every flow of every interval, and the balance and storage laws hold in the file', () => {
    const folder = copyOf('small');
    // A draw of converting, which is not in every interval's standby.
    const site = readFileSync(join(folder, 'site.yaml'), 'utf8');
    writeFileSync(join(folder, 'site.yaml'), site.replace('standbyW: 6', 'standbyW: 6\n    conversionW: 25'));
    const run = duskbank(['compare', 'site.yaml', '--json', '--intervals', 'flows.csv'], folder);
    expect(run.status).toBe(0);
    expect(run.stderr).toContain('wrote flows.csv');
    const report = JSON.parse(run.stdout);
    const rows = readFlows(join(folder, 'flows.csv'));
    expect(rows).toHaveLength(report.strategies.length * report.axis.intervals);
    let worstBalance = 0;
    let worstStorage = 0;
    for (const result of report.strategies) {
      const own = rows.filter((row) => row.strategy === result.strategy);
      expect(own).toHaveLength(report.axis.intervals);
      const number = (row: Flow, column: string) => {
        expect(typeof row[column], `${column} of ${result.strategy}`).toBe('number');
        return row[column] as number;
      };
      let soc = result.startKwh;
      let imported = 0;
      let standby = 0;
      for (const [i, row] of own.entries()) {
        expect(Date.parse(String(row.start).replace('Z', ':00Z'))).toBe(
          Date.parse(report.axis.start) + i * 30 * 60_000,
        );
        const balance =
          number(row, 'import kWh') -
          number(row, 'export kWh') -
          (number(row, 'load kWh') +
            number(row, 'standby kWh') -
            (number(row, 'solar kWh') - number(row, 'curtailed kWh')) +
            number(row, 'charge kWh') -
            number(row, 'discharge kWh') -
            number(row, 'unserved kWh'));
        // No decay in this home; efficiencies as in its site file.
        const storage =
          number(row, 'soc kWh') - (soc + number(row, 'charge kWh') * 0.95 - number(row, 'discharge kWh') / 0.94);
        worstBalance = Math.max(worstBalance, Math.abs(balance));
        if (result.strategy !== 'none') worstStorage = Math.max(worstStorage, Math.abs(storage));
        soc = number(row, 'soc kWh');
        imported += number(row, 'import kWh');
        standby += number(row, 'standby kWh');
        expect(number(row, 'import price')).toBeGreaterThan(0);
        expect(number(row, 'export price')).toBeGreaterThan(0);
      }
      expect(imported).toBeCloseTo(result.importKwh, 8);
      expect(standby).toBeCloseTo(result.standbyKwh, 8);
      if (result.strategy !== 'none') expect(soc).toBe(result.endKwh);
    }
    // 1e-9 kWh: the laws of an interval are sums of eight doubles.
    expect(worstBalance).toBeLessThan(1e-9);
    expect(worstStorage).toBeLessThan(1e-9);
    expect(readdirSync(folder).sort()).toEqual(['flows.csv', 'home.csv', 'make.mjs', 'site.yaml', 'tariff.yaml']);
  });

  test('keeps a file whole that it may not replace, and leaves nothing beside it', () => {
    const folder = copyOf('small');
    const before = readdirSync(folder).sort();
    const run = duskbank(['compare', 'site.yaml', '--intervals', 'no-such-folder/flows.csv'], folder);
    expect(run).toMatchObject({ status: 2, stdout: '' });
    expect(run.stderr).toMatch(/no-such-folder\/flows\.csv.*folder that does not exist/s);
    expect(readdirSync(folder).sort()).toEqual(before);
    const onFolder = duskbank(['compare', 'site.yaml', '--intervals', '.'], folder);
    expect(onFolder).toMatchObject({ status: 2, stdout: '' });
    expect(onFolder.stderr).toContain('a folder of this name');
    const onDevice = duskbank(['compare', 'site.yaml', '--intervals', '/dev/null'], folder);
    expect(onDevice).toMatchObject({ status: 2, stdout: '' });
    expect(readdirSync(folder).sort()).toEqual(before);
  });

  test('a link keeps being one: its target is replaced', () => {
    const folder = copyOf('small');
    writeFileSync(join(folder, 'target.csv'), 'old\n');
    symlinkSync('target.csv', join(folder, 'link.csv'));
    const args = ['compare', 'site.yaml', '--strategy', 'none', '--csv', '--intervals', 'link.csv', '--force'];
    expect(duskbank(args, folder).status).toBe(0);
    expect(lstatSync(join(folder, 'link.csv')).isSymbolicLink()).toBe(true);
    expect(readFlows(join(folder, 'target.csv'))).toHaveLength(1010);
  });

  test.skipIf(process.getuid?.() === 0)('says so where the folder may not be written to', () => {
    const folder = copyOf('small');
    chmodSync(folder, 0o555);
    const run = duskbank(['compare', 'site.yaml', '--intervals', 'flows.csv'], folder);
    chmodSync(folder, 0o755);
    expect(run).toMatchObject({ status: 2, stdout: '' });
  });
});

describe('--strategy', () => {
  test('runs the named ones only, in that order', () => {
    const run = duskbank(['compare', 'site.yaml', '--json', '--strategy', 'window', 'none'], copyOf('small'));
    expect(JSON.parse(run.stdout).strategies.map((row: { strategy: string }) => row.strategy)).toEqual([
      'window',
      'none',
    ]);
  });

  test('asks "did you mean" of a near miss, exits 2, writes nothing', () => {
    const folder = copyOf('small');
    const run = duskbank(['compare', 'site.yaml', '--strategy', 'windwo', '--intervals', 'flows.csv'], folder);
    expect(run).toMatchObject({ status: 2, stdout: '' });
    expect(run.stderr).toContain('"windwo"');
    expect(run.stderr).toContain('did you mean "window"?');
    for (const name of STANDARD) expect(run.stderr).toContain(name);
    expect(existsSync(join(folder, 'flows.csv'))).toBe(false);
  });
});

test('the same site gives the same bytes under any zone of the machine', () => {
  const folder = copyOf('small');
  const [one, two] = ['Pacific/Auckland', 'America/St_Johns'].map((TZ) =>
    duskbank(['compare', 'site.yaml', '--json'], folder, { TZ }),
  );
  expect(one!.status).toBe(0);
  expect(two!.stdout).toBe(one!.stdout);
});

test('a folder other than the site’s may be the current one', () => {
  const folder = copyOf('small');
  const run = duskbank(['compare', join(folder, 'site.yaml'), '--csv'], folderWith());
  expect(run.status).toBe(0);
});

describe('--wear', () => {
  const withEconomics = (economics: Record<string, unknown> | undefined) => {
    const folder = copyOf('demo');
    const path = join(folder, 'site.json');
    const site = JSON.parse(readFileSync(path, 'utf8'));
    site.economics = economics === undefined ? undefined : { ...site.economics, ...economics };
    writeFileSync(path, JSON.stringify(site));
    return folder;
  };

  test('shows schedules that count it beside those that do not, with what it was reckoned from', async () => {
    const folder = withEconomics({ cycleLife: 6000, batteryPrice: 4800 });
    const args = ['compare', 'site.json', '--wear'];
    const run = duskbank(args, folder);
    expect(run).toMatchObject({ status: 0, stderr: '' });
    expect(tooWide(run.stdout)).toEqual([]);
    await expect(wholeRun(args, run)).toMatchFileSnapshot('golden/compare-wear.txt');
    const printed = JSON.parse(duskbank([...args, '--json'], folder).stdout);
    expect(compareReportSchema.parse(printed)).toEqual(printed);
    const row = (name: string) => printed.strategies.find(({ strategy }: { strategy: string }) => strategy === name);
    expect(row('optimum-wear').wear.savingsAfter).toBeGreaterThan(row('optimum').wear.savingsAfter);
    expect(row('optimum-wear').bill.total).toBeGreaterThan(row('optimum').bill.total);
    expect(row('optimum-wear').yardstick).toBe(true);
    expect(printed.headline.strategy).toBe('settings');
  });

  test.each([
    [{}, 'field "economics.cycleLife"', '"cycleLife": 6000'],
    [undefined, 'field "economics"', '"covers"'],
    [{ cycleLife: 6000, rebate: 7900 }, 'field "economics.rebate"', '"batteryPrice"'],
  ])('exits 2 where it cannot be reckoned: %j', (economics, field, cure) => {
    const run = duskbank(['compare', 'site.json', '--wear'], withEconomics(economics));
    expect(run).toMatchObject({ status: 2, stdout: '' });
    expect(run.stderr).toContain(field);
    expect(run.stderr).toContain(cure);
  });
});
