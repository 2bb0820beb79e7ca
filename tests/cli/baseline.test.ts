import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { copyOf, duskbank, tooWide, wholeRun } from './support.ts';

const figuresOf = (folder: string, site: string) => {
  const bill = JSON.parse(duskbank(['bill', site, '--json'], folder).stdout);
  const report = JSON.parse(duskbank(['compare', site, '--json', '--strategy', 'none', 'window'], folder).stdout);
  return { bill, report };
};

/** The demo home with its interval file and its site changed. */
function demoWith(
  change: (row: { import: number; export: number; solar: number }) => string[],
  over: object = {},
): string {
  const folder = copyOf('demo');
  const [, ...rows] = readFileSync(join(folder, 'home.csv'), 'utf8').trim().split('\n');
  const site = JSON.parse(readFileSync(join(folder, 'site.json'), 'utf8'));
  writeFileSync(join(folder, 'site.json'), JSON.stringify({ ...site, ...over }));
  const changed = rows.map((row) => {
    const [start, bought, sold, sun] = row.split(',');
    return [start, ...change({ import: Number(bought), export: Number(sold), solar: Number(sun) })].join(',');
  });
  const columns =
    changed[0]!.split(',').length === 5
      ? 'import kWh,export kWh,solar kWh,load kWh'
      : 'import kWh,export kWh,solar kWh';
  writeFileSync(join(folder, 'home.csv'), `start,${columns}\n${changed.join('\n')}\n`);
  return folder;
}

test.each([
  ['demo', 'site.json'],
  ['small', 'site.yaml'],
  ['planned', 'site.json'],
])('the %s home: `bill` and `compare` have one figure, to the cent', (fixture, site) => {
  const { bill, report } = figuresOf(copyOf(fixture), site);
  expect(report.baseline.bill.total).toBe(bill.total);
  expect(bill.baseline.total).toBe(bill.total);
});

test('a load column that has solar counted in, and a limit that was passed: the baseline stays, and the screen says why', async () => {
  const folder = demoWith(
    (row) => [
      row.import.toFixed(3),
      row.export.toFixed(3),
      row.solar.toFixed(3),
      (row.import - row.export + 2 * row.solar).toFixed(3),
    ],
    { service: { importLimitKw: 5 } },
  );
  const { bill, report } = figuresOf(folder, 'site.json');
  expect(bill.total).toBe(1259.87);
  expect(report.baseline.bill.total).toBe(1259.87);
  expect(report.headline).toBeNull();
  const run = duskbank(['compare', 'site.json'], folder);
  expect(tooWide(run.stdout)).toEqual([]);
  expect(run.stdout).not.toContain('could have saved');
  await expect(wholeRun(['compare', 'site.json'], run)).toMatchFileSnapshot('golden/compare-contradictions.txt');
});

test('an export limit of 0 on a home that sells: nothing is saved by it', () => {
  const plain = figuresOf(copyOf('demo'), 'site.json').report;
  const { report } = figuresOf(
    demoWith((row) => [row.import, row.export, row.solar].map((kwh) => kwh.toFixed(3)), {
      service: { exportLimitKw: 0 },
    }),
    'site.json',
  );
  expect(report.baseline).toEqual(plain.baseline);
  expect(report.strategies).toEqual(plain.strategies);
  expect(report.warnings.map(({ code }: { code: string }) => code)).toContain('limit-below-metered');
});

test('both ways within an interval: both screens print the baseline and the bill on both readings', async () => {
  const folder = demoWith((row) => {
    const more = row.solar > 0.1 ? 0.01 : 0;
    return [row.import + more, row.export + more, row.solar].map((kwh) => kwh.toFixed(3));
  });
  const { bill, report } = figuresOf(folder, 'site.json');
  expect(bill.baseline.total).toBe(1259.87);
  expect(report.baseline.bill.total).toBe(1259.87);
  expect(bill.total).toBeGreaterThan(1270);
  const more = (bill.total - 1259.87).toFixed(2);
  const printed = duskbank(['bill', 'site.json'], folder);
  expect(tooWide(printed.stdout)).toEqual([]);
  const inOneLine = (text: string) => text.replaceAll(/\s+/g, ' ');
  expect(inOneLine(printed.stdout)).toContain(
    `Netted within each interval, as "duskbank compare" has it: USD 1,259.87, USD ${more} less.`,
  );
  const words = `makes the baseline USD 1,259.87; billed on both readings, the same past costs USD ${bill.total.toLocaleString('en-US')}, USD ${more} more`;
  expect(inOneLine(printed.stdout)).toContain(words);
  expect(inOneLine(duskbank(['compare', 'site.json'], folder).stdout)).toContain(words);
});
