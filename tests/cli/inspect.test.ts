import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { duskbank, folderWith, ROOT, tooWide, wholeRun } from './support.ts';

const fixture = (name: string) => readFileSync(join(ROOT, 'fixtures/meter/files', name));
const ZONE = ['--zone', 'America/Denver'];

describe('inspect', () => {
  test('says what was understood, monthly totals, a picture and faults, 80 columns wide', async () => {
    const folder = folderWith({ 'meter.csv': fixture('10-import-and-export.csv') });
    const args = ['inspect', 'meter.csv', ...ZONE];
    const run = duskbank(args, folder);
    expect(run.status).toBe(0);
    expect(tooWide(run.stdout)).toEqual([]);
    await expect(wholeRun(args, run)).toMatchFileSnapshot('golden/inspect-import-and-export.txt');
  });

  test('a question ends with exit code 2, with what was understood beside it, and nothing written', async () => {
    const folder = folderWith({ 'meter.csv': fixture('08-none-asked.csv') });
    const args = ['inspect', 'meter.csv', ...ZONE, '--write', 'clean.csv'];
    const run = duskbank(args, folder);
    expect(run.status).toBe(2);
    expect(() => readFileSync(join(folder, 'clean.csv'))).toThrow('ENOENT');
    await expect(wholeRun(args, run)).toMatchFileSnapshot('golden/inspect-unit-asked.txt');
    expect(duskbank([...args, '--unit', 'kWh'], folder).status).toBe(0);
  });

  test('which end of an hour its labels name is asked, and either answer is taken', () => {
    const rows = Array.from({ length: 10 * 24 }, (_, k) => {
      const at = new Date(Date.UTC(2026, 0, 13, k + 1)).toISOString();
      return `${at.slice(0, 10)} ${at.slice(11, 16)},${0.2 + (k % 24) / 50}`;
    });
    const folder = folderWith({ 'hours.csv': ['Date,Usage kWh', ...rows, ''].join('\n') });
    const args = ['inspect', 'hours.csv', '--zone', 'Europe/Berlin'];
    const asked = duskbank(args, folder);
    expect(asked.status).toBe(2);
    expect(asked.stderr.replaceAll(/\s+/g, ' ')).toContain('takes --interval-end or --interval-start');
    const first = (flag: string) => JSON.parse(duskbank([...args, flag, '--json'], folder).stdout);
    expect(JSON.stringify(first('--interval-end'))).toContain('labels are interval ends: stated');
    expect(JSON.stringify(first('--interval-start'))).toContain('labels are interval starts: stated');
    const both = duskbank([...args, '--interval-end', '--interval-start'], folder);
    expect(both.status).toBe(2);
    expect(both.stderr).toContain('--interval-end beside it');
    // So does check, of the same file.
    const check = ['check', 'hours.csv', '--zone', 'Europe/Berlin'];
    expect(duskbank(check, folder).status).toBe(2);
    const startOf = (flag: string) =>
      JSON.parse(duskbank([...check, flag, '--json'], folder).stdout).intervals.axis.start as string;
    expect(startOf('--interval-start')).toBe('2026-01-13T00:00:00.000Z');
    expect(startOf('--interval-end')).toBe('2026-01-12T23:00:00.000Z');
    expect(duskbank([...check, '--interval-end', '--interval-start'], folder).stderr).toContain(
      '--interval-end beside it',
    );
  });

  test('--write gives a file that reads back as the same series', () => {
    const folder = folderWith({ 'meter.csv': fixture('02-autumn-once.csv') });
    const run = duskbank(['inspect', 'meter.csv', ...ZONE, '--write', 'clean.csv'], folder);
    expect(run.status).toBe(0);
    const written = parseIntervalData(readFileSync(join(folder, 'clean.csv')));
    expect(written.findings).toEqual([]);
    expect(written.series).toEqual(parseIntervalData(fixture('02-autumn-once.csv'), { zone: 'America/Denver' }).series);
    expect(duskbank(['inspect', 'clean.csv'], folder).status).toBe(0);
  });

  test('--write writes no file of which a study would ask whether it is all', () => {
    const rows = Array.from({ length: 28 * 24 }, (_, k) => {
      const at = new Date(Date.UTC(2026, 2, 1, k)).toISOString();
      return `${at.slice(0, 10)} ${at.slice(11, 16)},${k % 24 < 6 ? 0.4 : 0}`;
    });
    const folder = folderWith({ 'night.csv': ['Start,Usage kWh', ...rows, ''].join('\n') });
    const args = ['inspect', 'night.csv', '--zone', 'Australia/Brisbane'];
    expect(duskbank(args, folder).status).toBe(0);
    const run = duskbank([...args, '--write', 'clean.csv'], folder);
    expect(run.status).toBe(2);
    expect(run.stderr).toContain(
      'error: night.csv: received column 2 "Usage kWh" (67.2 kWh) is all that is there of import',
    );
    expect(() => readFileSync(join(folder, 'clean.csv'))).toThrow('ENOENT');
    expect(duskbank([...args, '--channel', 'import', '--write', 'clean.csv'], folder).status).toBe(0);
  });

  test('an archive that was cut is refused, with its cure', () => {
    const whole = fixture('15-inside.zip');
    const folder = folderWith({ 'cut.zip': whole.subarray(0, 1000), 'whole.zip': whole });
    expect(duskbank(['inspect', 'whole.zip', ...ZONE], folder).status).toBe(0);
    for (const command of ['inspect', 'check']) {
      const run = duskbank([command, 'cut.zip', ...ZONE], folder);
      expect(run.status).toBe(2);
      expect(run.stderr).toContain(
        'error: cut.zip: received the archive is damaged: it is cut off: the list of its members, which ends it, is missing; expected an archive that is as it was packed, from its first byte to its last\n' +
          '  hint: download it again; mail and web forms sometimes cut files\n',
      );
    }
  });

  test('several files are joined, overlaps compared', () => {
    const text = fixture('01-spring-missing.csv').toString().split('\n');
    const folder = folderWith({
      'a.csv': `${text.slice(0, 250).join('\n')}\n`,
      'b.csv': `${[text[0], ...text.slice(200)].join('\n')}`,
      'sun.csv': fixture('01-spring-missing.csv').toString().replace('Import (kWh)', 'Solar (kWh)'),
    });
    const run = duskbank(['inspect', 'a.csv', 'b.csv', 'sun.csv', ...ZONE, '--json'], folder);
    expect(run.status).toBe(0);
    const report = JSON.parse(run.stdout);
    expect(report).toMatchObject({
      format: 'duskbank.inspect/1',
      ok: true,
      // Five days, one of 23 hours: 5 × 96 − 4.
      axis: { intervals: 476, stepMinutes: 15, zone: 'America/Denver' },
      findings: [{ code: 'overlap-equal', count: 50 }],
    });
    expect(report.totalsKwh.import).toBeCloseTo(report.totalsKwh.solar, 9);
    expect(report.months.map((month: { month: string }) => month.month)).toEqual(['2026-03']);
  });

  test('files of another span are refused', () => {
    const folder = folderWith({
      'a.csv': fixture('01-spring-missing.csv'),
      'b.csv': fixture('02-autumn-summed.csv').toString().replace('Import (kWh)', 'Solar (kWh)'),
    });
    const run = duskbank(['inspect', 'a.csv', 'b.csv', ...ZONE], folder);
    expect(run.status).toBe(2);
    expect(run.stderr).toContain('cover different spans');
  });

  test('faults name the flag that corrects them, and the flag does', () => {
    const net = fixture('10-signed-net.csv').toString();
    const flipped = net.replace(/,(-?)([\d.]+)$/gm, (_, minus, size) => `,${minus === '-' ? '' : '-'}${size}`);
    const folder = folderWith({ 'meter.csv': flipped });
    const args = ['inspect', 'meter.csv', ...ZONE, '--latitude', '39.7', '--longitude', '-105'];
    const run = duskbank(args, folder);
    expect(run.stdout).toContain('[grid-reversed, sure]');
    expect(run.stdout).toContain('--flip grid');
    expect(run.stdout.replace(/\s+/g, ' ')).toContain('supply side stays live with the main switch off');
    const mended = JSON.parse(duskbank([...args, '--flip', 'grid', '--json'], folder).stdout);
    const right = JSON.parse(
      duskbank(['inspect', 'net.csv', ...ZONE, '--json'], folderWith({ 'net.csv': net })).stdout,
    );
    expect(mended.faults).toEqual([]);
    expect(mended.totalsKwh).toEqual(right.totalsKwh);
    const shifted = JSON.parse(duskbank([...args, '--shift', '-60', '--json'], folder).stdout);
    expect(shifted.axis.start).toBe('2026-01-12T06:00:00.000Z');
  });

  test('gaps are filled only when asked for, and counted', () => {
    const lines = fixture('06-no-year.csv').toString().split('\n');
    lines.splice(240, 2);
    const folder = folderWith({ 'meter.csv': lines.join('\n') });
    const args = ['inspect', 'meter.csv', '--zone', 'America/Phoenix', '--json'];
    expect(JSON.parse(duskbank(args, folder).stdout)).toMatchObject({ repairs: null, estimatedShare: 0 });
    const filled = JSON.parse(duskbank([...args, '--fill-gaps', '3'], folder).stdout);
    expect(filled.repairs).toMatchObject({ filledIntervals: 2, left: [] });
    expect(filled.estimatedShare).toBeCloseTo(2 / 480, 12);
  });

  test.each([
    [['--unit', 'kWhh'], 'kWhh'],
    [['--columns', 'grid=2'], '--columns'],
    [['--columns', 'import=Nothing'], "doesn't have"],
    [['--scale', 'sun=2'], '--scale'],
    [['--shift', 'an hour'], '--shift'],
    [['--flip', 'solar'], '--flip'],
    [['--swap', 'a,b'], '--swap'],
    [['--latitude', '100'], '--latitude'],
    [['--write', '.'], 'a folder of this name'],
  ])('%j is refused with exit code 2', (flags, told) => {
    const run = duskbank(
      ['inspect', 'meter.csv', ...ZONE, ...flags],
      folderWith({ 'meter.csv': fixture('01-spring-missing.csv') }),
    );
    expect(run.status).toBe(2);
    expect(run.stderr).toContain(told);
  });

  test('nothing personal is ever printed', () => {
    const folder = folderWith({
      'a.csv': fixture('15-preamble.csv'),
      'b.csv': fixture('14-spreadsheet.csv'),
      'c.csv': `Name,An Invented Customer\nAccount,9988776655\n1 Example Street,1 Example Street\n`,
      'd.xml': fixture('16-espi-several-points-asked.xml'),
      'e.csv': fixture('15-preamble.csv').toString().replaceAll(',0.', ',An Invented Customer 0.'),
    });
    for (const file of ['a.csv', 'b.csv', 'c.csv', 'd.xml', 'e.csv'])
      for (const more of [[], ['--json']]) {
        const run = duskbank(['inspect', file, ...ZONE, ...more], folder);
        expect(run.stdout + run.stderr).not.toMatch(/Invented|Example|9988776655|00123|RetailCustomer/);
      }
  });
});

test('--columns takes several columns of one value, which are added, and one of a time', () => {
  const rows = Array.from({ length: 96 }, (_, i) => {
    const clock = [i >> 2, (i % 4) * 15].map((part) => String(part).padStart(2, '0')).join(':');
    return `2026-01-05 ${clock},0.2,0.1`;
  });
  const folder = folderWith({ 'meter.csv': `Start,A kWh,B kWh\n${rows.join('\n')}\n` });
  const args = ['inspect', 'meter.csv', ...ZONE, '--json', '--columns'];
  const both = duskbank([...args, 'import=2', 'import=3'], folder);
  expect(JSON.parse(both.stdout).totalsKwh.import).toBeCloseTo(28.8, 6);
  for (const inOne of ['import=2,3', 'import=2+3'])
    expect(JSON.parse(duskbank([...args, inOne], folder).stdout).totalsKwh.import).toBeCloseTo(28.8, 6);
  const twice = duskbank([...args, 'start=1', 'start=2', 'import=3'], folder);
  expect(twice.status).toBe(2);
  expect(twice.stderr).toContain('one column of start');
});
