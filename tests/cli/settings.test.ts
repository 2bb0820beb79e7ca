import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import {
  type DatedReserve,
  followSheet,
  runStrategy,
  type SettingsSheet,
  selfConsumption,
} from '@duskbank/core/dispatch';
import { settingsReportSchema } from '@duskbank/core/study';
import { billTariff } from '@duskbank/core/tariff';
import { evaluate } from '@duskbank/core/trial';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, test } from 'vitest';
import { readStudy } from '../../packages/cli/src/io/site.ts';
import { winterHome } from '../support/winter-home.ts';
import { copyOf, cutHome, duskbank, folderWith, goldenJson, ROOT, tooWide, wholeRun } from './support.ts';

/** A copy of the demo home whose plant is changed. */
function demoWith(plant: Record<string, unknown>, change: (site: Record<string, never>) => void = () => {}): string {
  const folder = copyOf('demo');
  const path = join(folder, 'site.json');
  const site = JSON.parse(readFileSync(path, 'utf8'));
  Object.assign(site.plant, plant);
  change(site);
  writeFileSync(path, JSON.stringify(site));
  return folder;
}

const SCHEMA = JSON.parse(readFileSync(join(ROOT, 'docs/reference/settings.schema.json'), 'utf8'));
const validate = new Ajv2020({ strict: true, strictTypes: false, allErrors: true, validateFormats: false }).compile(
  SCHEMA,
);

const args = ['settings', 'site.json'];

describe('settings of the demo home with a box of two windows, two seasons and weekends', () => {
  const folder = demoWith({ controller: { windowsPerDay: 2, seasons: 2, weekends: true } });
  const json = duskbank([...args, '--json'], folder);

  test('prints a sheet that fits a terminal of 80 columns', async () => {
    const run = duskbank(args, folder);
    expect(run).toMatchObject({ status: 0, stderr: '' });
    expect(tooWide(run.stdout)).toEqual([]);
    await expect(wholeRun(args, run)).toMatchFileSnapshot('golden/settings-demo.txt');
  });

  test('--json is what docs/reference/settings.schema.json says, key by key', async () => {
    expect(json.status).toBe(0);
    const printed = JSON.parse(json.stdout);
    expect(validate(printed), JSON.stringify(validate.errors)).toBe(true);
    expect(validate({ ...printed, format: 'duskbank.settings/2' })).toBe(false);
    expect(validate({ ...printed, sheet: { ...printed.sheet, reservePercent: 120 } })).toBe(false);
    expect(settingsReportSchema.parse(printed)).toEqual(printed);
    for (const judged of [printed.expected, printed.inSample, printed.rolling])
      expect(judged.savings).toBe(printed.baseline.bill.total - judged.bill.total);
    expect(printed.rolling.lostPerYear).toBe(printed.rolling.savingsPerYear - printed.expected.savingsPerYear);
    expect(printed.controllerStated).toBe(true);
    for (const warning of printed.warnings) expect(json.stderr).toContain(`warning: ${warning.message}\n`);
    await expect(goldenJson(printed)).toMatchFileSnapshot('golden/settings-demo-json.txt');
  });

  test('headline and payback of compare are what it says to count on', () => {
    const { expected, inSample } = JSON.parse(json.stdout);
    const report = JSON.parse(duskbank(['compare', 'site.json', '--json', '--all'], folder).stdout);
    expect(report.headline).toMatchObject({ strategy: 'settings', savings: expected.savings });
    expect(report.payback).toMatchObject({ strategy: 'settings', savingsPerYear: expected.savingsPerYear });
    const row = report.strategies.find(({ strategy }: { strategy: string }) => strategy === 'settings');
    expect(row.bill.total).toBe(expected.bill.total);
    expect(row.inSample.bill.total).toBe(inSample.bill.total);
    const text = duskbank(['compare', 'site.json'], folder).stdout;
    expect(text).toMatch(/^Run as "settings"/m);
    expect(text).toContain(expected.savingsPerYear.toFixed(2));
    expect(text).toContain(inSample.savings.toFixed(2));
  });
});

test('without a stated controller it takes the plainest, and says so before anything else', async () => {
  const folder = copyOf('small');
  const run = duskbank(['settings', 'site.yaml'], folder);
  expect(run).toMatchObject({ status: 0, stderr: '' });
  expect(tooWide(run.stdout)).toEqual([]);
  await expect(wholeRun(['settings', 'site.yaml'], run)).toMatchFileSnapshot('golden/settings-small.txt');
  const report = JSON.parse(duskbank(['settings', 'site.yaml', '--json'], folder).stdout);
  expect(report.controllerStated).toBe(false);
  expect(report.warnings[0].code).toBe('controller-assumed');
});

test('a home with a medical circuit gets that caution before the sheet, and a sheet that keeps it full', async () => {
  const folder = demoWith({ controller: { windowsPerDay: 1 } }, (site: { backup?: { circuits: object[] } }) =>
    site.backup!.circuits.push({ name: 'Oxygen', watts: 350, leg: 'L1', priority: 1, medical: true }),
  );
  const run = duskbank(args, folder);
  expect(run.status, run.stderr).toBe(0);
  expect(run.stdout.indexOf('Life-supporting equipment needs its own plan')).toBeGreaterThan(0);
  expect(run.stdout.indexOf('Life-supporting')).toBeLessThan(run.stdout.indexOf('reserve for an outage'));
  expect(tooWide(run.stdout)).toEqual([]);
  expect(run.stdout).toMatch(/^reserve for an outage {9}100 % /m);
  await expect(wholeRun(args, run)).toMatchFileSnapshot('golden/settings-medical.txt');
  cutHome(folder);
  const compared = duskbank(['compare', 'site.json'], folder).stdout;
  expect(compared).toMatch(/^Run as "settings", kept full for the medical circuit, the battery saves nothing/m);
});

test('without grid charging it is said to be off, and no window charges', () => {
  const folder = demoWith({ controller: { windowsPerDay: 2 }, gridCharging: false });
  cutHome(folder);
  const run = duskbank(args, folder);
  expect(run.stdout).toMatch(/^charging from the grid {2}off /m);
  const { sheet } = JSON.parse(duskbank([...args, '--json'], folder).stdout);
  expect(sheet.gridChargeKw).toBe(0);
  // A window of the whole day up to nothing only holds what the sun brought.
  for (const { charge, chargeToPercent } of sheet.schedules)
    expect(charge === null || chargeToPercent === 0).toBe(true);
});

describe('the winter-peak home', () => {
  test('with one window and no seasons loses money, and the sheet says so', async () => {
    const run = duskbank(args, folderWith(winterHome({ windowsPerDay: 1 }).files));
    expect(run).toMatchObject({ status: 0, stderr: '' });
    expect(tooWide(run.stdout)).toEqual([]);
    expect(run.stdout).toContain('The battery loses money on these settings');
    await expect(wholeRun(args, run)).toMatchFileSnapshot('golden/settings-winter-peak.txt');
  });

  test('with seasons it earns', () => {
    const run = duskbank(args, folderWith(winterHome({ windowsPerDay: 1, seasons: 2 }).files));
    expect(run.stdout).toMatch(/the battery saves USD \d/);
    expect(run.stdout).not.toContain('loses money');
  });

  test('re-simulated from the words on the screen, the sheet has the printed bill to the cent', () => {
    const home = winterHome({ windowsPerDay: 2, seasons: 2, weekends: true });
    const { stdout } = duskbank(args, folderWith(home.files));
    const { sheet, bill } = readSheet(stdout);
    expect(sheet.schedules.some((schedule) => schedule.charge !== null)).toBe(true);
    const { home: simulated } = home.study();
    // What is typed in is the power that the plant has, to the watt.
    expect(Math.abs(sheet.gridChargeKw - simulated.plant.chargeLimitKw)).toBeLessThan(5e-4);
    const { flows } = runStrategy(followSheet(sheet), simulated);
    expect(billTariff(simulated.tariff, flows).total).toBe(bill);
  });
});

describe('a site with floors by month, hours to keep and planned outages', () => {
  const reserve = {
    keepHours: 3,
    byMonth: [{ months: [12, 1, 2], share: 0.5 }],
    planned: [
      { from: '2025-08-12T09:00', to: '2025-08-12T17:00', noticeHours: 24 },
      { from: '2025-11-03T09:00', to: '2025-11-03T12:00', noticeHours: 0.5 },
      { from: '2026-03-10T09:00', to: '2026-03-10T12:00', noticeHours: 24 },
    ],
  };
  const folder = demoWith({ controller: { windowsPerDay: 1, seasons: 2 } }, (site: { backup?: object }) =>
    Object.assign(site.backup!, { reserve }),
  );
  const run = duskbank(args, folder);

  test('gets one number that stands and the dates at which it is changed, in the order of their dates', async () => {
    expect(run).toMatchObject({ status: 0, stderr: '' });
    expect(tooWide(run.stdout)).toEqual([]);
    await expect(wholeRun(args, run)).toMatchFileSnapshot('golden/settings-dated.txt');
    expect(readSheet(run.stdout).sheet.dated).toEqual([
      { reservePercent: 100, when: { from: '2025-08-11T09:00', to: '2025-08-12T17:00' } },
      { reservePercent: 100, when: { from: '2025-11-03T08:30', to: '2025-11-03T12:00' } },
      { reservePercent: 50, when: { months: [12, 1, 2], leadHours: 1 } },
      { reservePercent: 100, when: { from: '2026-03-09T09:00', to: '2026-03-10T12:00' } },
    ]);
  });

  test('re-simulated from the words on the screen, dates and all, it has the printed bill', async () => {
    const { sheet, bill } = readSheet(run.stdout);
    const { home } = await readStudy(join(folder, 'site.json'));
    const { flows } = runStrategy(followSheet(sheet), home);
    // The data begin in January with half of it: what lies above the floor of summer was bought once.
    const { startEnergy } = evaluate(home, selfConsumption, ['bill']).bill;
    expect(startEnergy).toBeGreaterThan(0.1);
    expect((billTariff(home.tariff, flows).total + startEnergy).toFixed(2)).toBe(bill.toFixed(2));
    const undated = runStrategy(followSheet({ ...sheet, dated: [] }), home);
    expect(billTariff(home.tariff, undated.flows).total).toBeLessThan(bill - 0.1);
  });
});

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

const ALL_DAY = { fromMinute: 0, toMinute: 0 };

/** The sheet as somebody reads it off the screen, and the bill printed for it. */
function readSheet(text: string): { sheet: SettingsSheet; bill: number } {
  const minutes = (window: string) => {
    const [from, to] = window.split('–').map((clock) => {
      const [hour, minute] = clock.split(':').map(Number);
      return 60 * hour! + minute!;
    });
    return { fromMinute: from!, toMinute: to! };
  };
  const months = (words: string) =>
    words === 'all year'
      ? MONTHS.map((_, m) => m + 1)
      : words.split(', ').flatMap((run) => {
          const [from, to = from] = run.split('–').map((name) => MONTHS.indexOf(name));
          return Array.from({ length: ((to! - from! + 12) % 12) + 1 }, (_, k) => ((from! + k) % 12) + 1);
        });
  const lines = text.split('\n');
  const head = lines.findIndex((line) => line.startsWith('months '));
  const rows = lines.slice(head + 2, lines.indexOf('', head));
  const schedules = rows.map((row) => {
    const [when, days, charge, ...rest] = row.split(/ {2,}/);
    const upTo = charge === 'never' ? undefined : rest.shift();
    const discharge = rest[0]!;
    return {
      months: months(when!),
      days: days as 'every day',
      // What holds gives nothing all day, and may buy all day.
      charge: discharge === 'never: hold' ? ALL_DAY : charge === 'never' ? null : minutes(charge!),
      chargeToPercent: upTo === undefined ? 0 : Number(upTo.replace(' %', '')),
      discharge: discharge.startsWith('any') || discharge === 'never: hold' ? null : minutes(discharge),
    };
  });
  const number = (pattern: RegExp) => Number(pattern.exec(text)![1]!.replaceAll(',', ''));
  return {
    sheet: {
      reservePercent: number(/^reserve for an outage +(\d+) %/m),
      gridChargeKw: number(/^charging power from the grid +([\d.]+) kW/m),
      schedules,
      dated: readDated(text),
    },
    // Where they save the same on the weeks they were found on, there is one row.
    bill: number(
      /^these settings, on the weeks/m.test(text)
        ? /^these settings, on the weeks they were found on +([\d,.]+) /m
        : /^these settings, tested on other weeks \* +([\d,.]+) /m,
    ),
  };
}

/** The instructions to be carried out by hand, off the screen. */
function readDated(text: string): DatedReserve[] {
  const said = text.split('\n\n').find((part) => part.startsWith('To be set or looked at by hand'));
  const lines = (said ?? '').replaceAll('\n  ', ' ').split('\n');
  return lines.flatMap((line): DatedReserve[] => {
    const once = /^- From (\S+) (\S+) set the reserve to (\d+) %.* after (\S+) (\d\d:\d\d):/.exec(line);
    if (once !== null)
      return [
        { reservePercent: Number(once[3]), when: { from: `${once[1]}T${once[2]}`, to: `${once[4]}T${once[5]}` } },
      ];
    const yearly =
      /^- Every year on the last of \w+ at (\d\d):00 set the reserve to (\d+) %, to be kept from 1 (\w+) 00:00.* on 1 (\w+) 00:00/.exec(
        line,
      );
    if (yearly === null) return [];
    const leadHours = 24 - Number(yearly[1]);
    const from = MONTHS.indexOf(yearly[3]!);
    const length = (MONTHS.indexOf(yearly[4]!) - from + 12) % 12;
    const months = Array.from({ length }, (_, k) => ((from + k) % 12) + 1);
    return [{ reservePercent: Number(yearly[2]), when: { months, leadHours } }];
  });
}

test.each([
  ['--charge-kw', '2'],
  ['--charge-to', '80'],
])('%s alone names the combination that it works in, and that works', (flag, value) => {
  const folder = copyOf('demo');
  const alone = duskbank(['settings', 'site.json', flag, value], folder);
  expect(alone.status).toBe(2);
  const named = /name both: (--charge \S+) (\S+ [^;\s]+);/.exec(alone.stderr)!;
  expect(named[2]).toBe(`${flag} ${value}`);
  const both = duskbank(['settings', 'site.json', ...`${named[1]} ${named[2]}`.split(' ')], folder);
  expect(both).toMatchObject({ status: 0, stderr: '' });
  expect(both.stdout).toContain('Your box, as it is set now');
});

test('--today must be a date', () => {
  const run = duskbank(['settings', 'site.json', '--today', '2026-02-30']);
  expect(run.status).toBe(2);
  expect(run.stderr).toContain('--today');
  expect(run.stderr).toContain('a date such as "2026-11-27"');
});
