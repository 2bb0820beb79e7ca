import { copyFileSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { copyOf, duskbank, folderWith, ROOT, tooWide, wholeRun } from './support.ts';

const FOLDER = join(ROOT, 'fixtures/tariffs');

describe('tariff', () => {
  test.each(['three-windows-two-seasons', 'version-change', 'life', 'net-billing-table', 'capacity-steps'])(
    'says what %s says',
    async (name) => {
      const args = ['tariff', `${name}.json`, '--at', '2026-02-01'];
      const run = duskbank(args, FOLDER);
      expect(run.status).toBe(0);
      expect(tooWide(run.stdout)).toEqual([]);
      await expect(wholeRun(args, run)).toMatchFileSnapshot(`golden/tariff-${name}.txt`);
    },
  );

  test('every tariff of ours can be told within 80 columns', () => {
    // One process for all would test less; ten of them are enough to meet every form of price and export.
    for (const file of readdirSync(FOLDER).filter((_, k) => k % 6 === 0)) {
      const run = duskbank(['tariff', file, '--at', '2026-02-01'], FOLDER);
      expect(run.status, run.stderr).toBe(0);
      expect(tooWide(run.stdout), file).toEqual([]);
    }
  });

  test('today is the date of whoever asks, at the moment that stands for now', () => {
    // 5:00 UTC on 1 January 2026 is the evening before in Denver.
    const env = { SOURCE_DATE_EPOCH: String(Date.UTC(2026, 0, 1, 5) / 1000), TZ: 'America/Denver' };
    expect(duskbank(['tariff', 'version-change.json'], FOLDER, env).stdout).toContain('As it holds on 2025-12-31');
    expect(duskbank(['tariff', 'version-change.json'], FOLDER, { ...env, TZ: 'UTC' }).stdout).toContain('2026-01-01');
  });

  test('--json gives the weeks as numbers and the next change', () => {
    const run = duskbank(['tariff', 'version-change.json', '--at', '2026-02-01', '--json'], FOLDER);
    const told = JSON.parse(run.stdout);
    expect(told.nextChange).toEqual({ date: '2026-03-19', what: 'a new version holds: "General rate case"' });
    // Monday 16:30, with 2.5 % tax: 0.3821 × 1.025.
    expect(told.weeks[0].pricePerKwh[0][33]).toBeCloseTo(0.3916525, 12);
    expect(told.weeks[0].window[0][33]).toBe('on-peak');
  });

  test('one that has ended by the day says when, and what follows', () => {
    const life = JSON.parse(readFileSync(join(FOLDER, 'life.json'), 'utf8'));
    const { successor, ...bare } = life.life;
    const folder = folderWith({
      'life.json': JSON.stringify(life),
      'bare.json': JSON.stringify({ ...life, life: bare }),
    });
    const told = (file: string, date: string) => {
      const run = duskbank(['tariff', file, '--at', date], folder);
      expect(run.status, run.stderr).toBe(0);
      return run.stdout.replace(/\s+/g, ' ');
    };
    expect(told('life.json', '2028-01-01')).toContain(`This tariff ended on 2027-12-31; "${successor}" follows it.`);
    expect(told('life.json', '2028-01-01')).toContain('It ended on 2027-12-31, before 2028-01-01: as it was;');
    expect(told('bare.json', '2028-01-01')).toContain('ended on 2027-12-31; what follows it isn’t said in its file.');
    // Its last day is still its own.
    expect(told('life.json', '2027-12-31')).toContain('As it holds on 2027-12-31');
    expect(told('life.json', '2027-12-31')).toContain('from 2028-01-01 the tariff has ended');
    const json = JSON.parse(duskbank(['tariff', 'life.json', '--at', '2028-01-01', '--json'], folder).stdout);
    expect(json.ended).toEqual({ on: '2027-12-31', successor });
    expect(json.nextChange).toBeUndefined();
  });

  test('holes and overlaps are told with their place, exit 2', () => {
    const folder = folderWith({
      'tariff.yaml': [
        'format: duskbank.tariff/1',
        'name: Holes',
        'currency: USD',
        'windows:',
        '  - { name: peak, from: "16:00", to: "21:00", pricePerKwh: 0.4 }',
        '  - { name: late, from: "20:00", to: "09:00", pricePerKwh: 0.1 }',
        '',
      ].join('\n'),
    });
    const run = duskbank(['tariff', 'tariff.yaml'], folder);
    expect(run.status).toBe(2);
    expect(run.stderr).toContain('windows[1].from');
    expect(run.stderr).toContain('"late" over "peak" (windows[0]) for 20:00–21:00');
    expect(run.stderr).toContain('no window for 09:00–16:00');
  });

  test('a date that isn’t is refused', () => {
    expect(duskbank(['tariff', 'flat.json', '--at', 'tomorrow'], FOLDER).status).toBe(2);
  });
});

describe('compare --tariff', () => {
  const folder = copyOf('demo');
  const args = [
    'compare',
    'site.json',
    '--tariff',
    join(FOLDER, 'flat.json'),
    '--tariff',
    join(FOLDER, 'version-change.json'),
  ];
  const run = duskbank([...args, '--json'], folder);
  const report = JSON.parse(run.stdout);

  test('steps from today’s bill sum to the cent', () => {
    const { steps } = report.tariffSwitch;
    expect(steps.map((step: { step: string }) => step.step)).toEqual([
      'today',
      'best-tariff',
      'planned-solar',
      'battery',
    ]);
    const cents = (value: number) => Math.round(value * 100);
    let sum = cents(steps[0].total);
    for (const step of steps) {
      sum += cents(step.change);
      expect(sum).toBe(cents(step.total));
    }
    expect(steps[1].change).toBeLessThan(0);
    expect(steps[3].change).toBeLessThan(0);
  });

  test('today’s months sum to today’s bill, which is that of `bill`', () => {
    const bill = JSON.parse(duskbank(['bill', 'site.json', '--json'], folder).stdout);
    const months = report.tariffSwitch.today;
    const cents = (value: number) => Math.round(value * 100);
    expect(months.reduce((sum: number, month: { total: number }) => sum + cents(month.total), 0)).toBe(
      cents(report.tariffSwitch.steps[0].total),
    );
    expect(report.tariffSwitch.steps[0].total).toBe(bill.total);
  });

  test('every row carries its tariff, and savings are against today’s', () => {
    const names = new Set(report.strategies.map((row: { tariff: string }) => row.tariff));
    expect(names.size).toBe(3);
    for (const row of report.strategies)
      expect(row.savings).toBeCloseTo(report.baseline.bill.total - row.bill.total, 9);
  });

  test('the closing sentence says that a tariff is better without any battery', () => {
    const text = duskbank(args, folder);
    expect(text.status).toBe(0);
    expect(tooWide(text.stdout)).toEqual([]);
    expect(text.stdout.replaceAll('\n', ' ')).toContain(
      'Switching to "Residential Standard" saves USD 231.26 without any battery;',
    );
  });

  test('shows what a scheduled version changes, month by month, if nothing is done', () => {
    const later = duskbank(
      ['compare', 'later.json', '--tariff', join(FOLDER, 'flat.json'), '--json'],
      withTariff(folder),
    );
    const { today, laterBasis } = JSON.parse(later.stdout).tariffSwitch;
    expect(laterBasis).toContain('the versions that hold a year later');
    // The rise is on 19 March: January and February stay, every later month costs more.
    for (const [p, month] of today.entries())
      if (p < 2) expect(month.later).toBe(month.total);
      else expect(month.later).toBeGreaterThan(month.total);
  });

  test('--tariff beside --intervals is refused', () => {
    expect(duskbank([...args, '--intervals', 'out.csv'], folder).status).toBe(2);
  });
});

function withTariff(folder: string): string {
  const site = JSON.parse(readFileSync(join(folder, 'site.json'), 'utf8'));
  copyFileSync(join(FOLDER, 'version-change.json'), join(folder, 'rising.json'));
  writeFileSync(join(folder, 'later.json'), JSON.stringify({ ...site, tariff: 'rising.json' }));
  return folder;
}
