import { readFile } from 'node:fs/promises';
import { InputError } from '@duskbank/core/input';
import { loadSite, type ReadFile } from '@duskbank/core/site';
import { check, inspect } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';

const folder = new URL('../../../fixtures/demo/', import.meta.url);

/** The demo home, its data as `change` leaves them and its site file with `meter` in place. */
async function demo(change: (rows: string[]) => Record<string, string>, meter: object): Promise<ReadFile> {
  const rows = (await readFile(new URL('home.csv', folder), 'utf8')).split('\n');
  const files = change(rows);
  const site = { ...JSON.parse(await readFile(new URL('site.json', folder), 'utf8')), meter };
  return async (path) => {
    if (path === 'site.json') return new TextEncoder().encode(JSON.stringify(site));
    const text = files[path];
    return text === undefined ? readFile(new URL(path, folder)) : new TextEncoder().encode(text);
  };
}

const withoutMarch = (rows: string[]) => ({ 'home.csv': rows.filter((row) => !row.startsWith('2025-03-')).join('\n') });

async function study(read: ReadFile) {
  const site = await loadSite('site.json', read);
  const tariff = site.tariffs[0]!;
  const { findings, series } = site.pastOf(tariff);
  return { loaded: { findings, series }, study: site.studyOf(tariff) };
}

async function faults(read: ReadFile) {
  const error = await study(read).then(
    () => undefined,
    (thrown: unknown) => thrown,
  );
  expect(error).toBeInstanceOf(InputError);
  return (error as InputError).issues;
}

const marchKwh = async () => {
  const rows = (await readFile(new URL('home.csv', folder), 'utf8')).split('\n');
  return rows.filter((row) => row.startsWith('2025-03-')).reduce((sum, row) => sum + Number(row.split(',')[1]), 0);
};

test('what filling short gaps adds is told: the sums of the files don’t hold it', async () => {
  const { facts, study: laid } = await loadSite('site.json', await demo(() => ({}), { files: ['home.csv'] }));
  const rows = (await readFile(new URL('home.csv', folder), 'utf8')).trim().split('\n').slice(1);
  const exportKwh = (text: string[]) => text.reduce((sum, row) => sum + Number(row.split(',')[2]), 0);
  const sold = Array.from(laid.meteredSolarKwh, (kwh, i) => Math.max(0, kwh - laid.home.loadKwh[i]!));
  const filled = facts.find(({ code }) => code === 'gaps-filled')!.data as { intervals: number; exportKwh: number };
  expect(filled.intervals).toBe(16);
  expect(sold.reduce((sum, kwh) => sum + kwh, 0) - exportKwh(rows)).toBeCloseTo(filled.exportKwh, 6);
});

describe('a month that is missing', () => {
  test('is told in local dates, with the three ways out', async () => {
    const [fault] = await faults(await demo(withoutMarch, { files: ['home.csv'] }));
    expect(fault).toMatchObject({ code: 'gap', where: { column: 'import', path: ['meter'] } });
    expect(fault!.received).toBe('no reading from 2025-03-01 to 2025-03-31, 31 days');
    expect(fault!.hint).toContain('"meter.files"');
    expect(fault!.hint).toContain('"span": { "from": "2025-04-01", "to": "2025-12-31" }');
    // 31 days less the hour that the clock skips.
    expect(fault!.hint).toContain('"maxGapHours": 743');
    // What is printed goes under the "meter" that the file has: a second one is a doubled key.
    expect(fault!.hint).not.toContain('"meter": {');
    const printed = [...fault!.hint!.matchAll(/under "meter" state ("\w+": \{[^}]*\})/g)].map(([, text]) => text!);
    expect(printed).toHaveLength(2);
    for (const text of printed) {
      const meter = { files: ['home.csv'], ...JSON.parse(`{ ${text} }`) };
      expect((await study(await demo(withoutMarch, meter))).study.home.axis.intervals).toBeGreaterThan(0);
    }
  });

  test('stops everything that reads the home with the same ways out, and inspect names them', async () => {
    const read = await demo(withoutMarch, { files: ['home.csv'] });
    const told = (issues: readonly { received: string; hint?: string }[]) =>
      issues.map(({ received, hint }) => `${received}; ${hint}`);
    const expected = told(await faults(read));
    expect(expected).toHaveLength(3);
    expect(told((await check('site.json', read)).issues)).toEqual(expected);
    const { report } = await inspect(['home.csv'], read, { parse: { zone: 'America/Denver' } });
    expect(told(report.gaps)).toEqual(expected);
    // Filled as it says, nothing is left.
    const { maxGapHours } = report.gaps[0]!.data as { maxGapHours: number };
    const filled = await inspect(['home.csv'], read, { parse: { zone: 'America/Denver' }, maxGapHours });
    expect(filled.report.gaps).toEqual([]);
    expect(filled.report.repairs!.left).toEqual([]);
  });

  test('of two channels, what is printed cures the longer gap of the two, and filling is named only where it fills', async () => {
    const longer = (rows: string[]) => ({
      'home.csv': rows
        .filter((row) => !row.startsWith('2025-03-'))
        .map((row) => (/^2025-02-(?:2\d)/.test(row) ? row.replace(/^([^,]*,[^,]*),[^,]*/, '$1,') : row))
        .join('\n'),
    });
    const issues = await faults(await demo(longer, { files: ['home.csv'] }));
    const hours = issues.map(({ hint }) => Number(/"maxGapHours": (\d+)/.exec(hint!)![1]));
    // 20 to 28 February and March: 40 days less an hour.
    expect(new Set(hours)).toEqual(new Set([959]));
    const meter = { files: ['home.csv'], repair: { maxGapHours: 959 } };
    expect((await study(await demo(longer, meter))).study.home.axis.intervals).toBeGreaterThan(0);
    // Of a weekend that is missing there is one other: no like days to fill it from.
    const weekend = (rows: string[]) => ({
      'home.csv': [rows[0]!, ...rows.filter((row) => /^2025-01-(?:0[1-9]|1[3-6])/.test(row))].join('\n'),
    });
    const [fault] = await faults(await demo(weekend, { files: ['home.csv'] }));
    expect(fault!.received).toContain('from 2025-01-10 to 2025-01-12');
    expect(fault!.hint).toContain('"span": { "from": "2025-01-01", "to": "2025-01-09" }');
    expect(fault!.hint).not.toContain('maxGapHours');
  });

  test('is cut off by the span that the message names', async () => {
    const span = { from: '2025-04-01', to: '2025-12-31' };
    const { study: cut } = await study(await demo(withoutMarch, { files: ['home.csv'], span }));
    const { days } = cut.home.axis.calendar;
    expect([days.length, days[0]!.month, days.at(-1)!.dayOfMonth]).toEqual([275, 4, 31]);
  });

  test('is filled when asked for, tagged, with what the filling missed elsewhere beside it', async () => {
    const repair = { maxGapHours: 743 };
    const { loaded, study: filled } = await study(await demo(withoutMarch, { files: ['home.csv'], repair }));
    // 2972 of 35036 intervals.
    expect(filled.estimatedShare).toBeCloseTo(2972 / 35_036, 3);
    expect(filled.savingsWithheld).toBeUndefined();
    const found = loaded.findings.find(({ code, data }) => code === 'long-gap-filled' && data.channel === 'import');
    const { energyKwh, missedByKwh } = found!.data as { energyKwh: number; missedByKwh: number };
    expect(found!.message).toMatch(/^import has no reading from 2025-03-01 to 2025-03-31: /);
    // What March really holds lies within what is said of the doubt.
    expect(Math.abs((await marchKwh()) - energyKwh)).toBeLessThan(missedByKwh);
    expect(missedByKwh).toBeLessThan(energyKwh);
    expect(filled.warnings.map(({ code }) => code)).toContain('long-gap-filled');
  });

  test('more than a quarter of the data is never filled', async () => {
    const half = (rows: string[]) => ({
      'home.csv': rows.filter((row) => !/^2025-(?:03|05|07|09)-/.test(row)).join('\n'),
    });
    const [fault] = await faults(await demo(half, { files: ['home.csv'], repair: { maxGapHours: 2208 } }));
    expect(fault!.code).toBe('gap');
    expect(fault!.hint).not.toContain('maxGapHours');
  });
});

describe('files that overlap', () => {
  test('are not of one quantity where they differ all along: no file counts for the other', async () => {
    const vehicle = (rows: string[]) => ({
      'circuit.csv': [
        'start,usage kWh',
        ...rows
          .filter((row) => row.startsWith('2025-06-'))
          .map((row, i) => `${row.split(',')[0]},${i % 96 < 16 ? 1.8 : 0}`),
      ].join('\n'),
    });
    const files = ['home.csv', 'circuit.csv'];
    const [fault] = await faults(await demo(vehicle, { files }));
    expect(fault!.code).toBe('overlap-contradicts');
    expect(fault!.received).toContain('from 2025-06-01 to 2025-06-30');
    const apart = { files: ['home.csv', { path: 'circuit.csv', channel: 'load' }] };
    expect((await faults(await demo(vehicle, apart)))[0]!.code).toBe('span-differs');
  });

  test('the first counts where a few readings were corrected later', async () => {
    const corrected = (rows: string[]) => {
      const june = rows.filter((row) => row.startsWith('2025-06-'));
      june[200] = `${june[200]!.split(',')[0]},0.777,0,0`;
      return { 'june.csv': [rows[0], ...june].join('\n') };
    };
    const { loaded } = await study(await demo(corrected, { files: ['home.csv', 'june.csv'] }));
    expect(loaded.findings.find(({ code }) => code === 'overlap-differs')?.count).toBe(1);
  });

  test('cutting one off hides no contradiction: a seam with several times as much is told', async () => {
    const times = (factor: number) => (rows: string[]) => ({
      'late.csv': [
        rows[0],
        ...rows
          .filter((row) => row.startsWith('2025-12-'))
          .map((row) => row.replace(/,([\d.]+)/, (_, kwh: string) => `,${(factor * Number(kwh)).toFixed(3)}`)),
      ].join('\n'),
    });
    const [fault] = await faults(await demo(times(0.2), { files: ['home.csv', 'late.csv'] }));
    expect(fault!.code).toBe('overlap-contradicts');
    // Cutting was once advised: it makes a year of two different things.
    expect(fault!.hint).not.toContain('span');
    const files = [{ path: 'home.csv', span: { to: '2025-11-30' } }, 'late.csv'];
    const seams = async (factor: number) =>
      (await study(await demo(times(factor), { files }))).loaded.findings.filter(({ code }) => code === 'seam-differs');
    expect(await seams(0.2)).toMatchObject([{ severity: 'warning', data: { channel: 'import', from: '2025-12-01' } }]);
    expect(await seams(1)).toEqual([]);
    // In whichever order the files stand.
    const newestFirst = await study(await demo(times(0.2), { files: [...files].reverse() }));
    expect(newestFirst.loaded.findings.filter(({ code }) => code === 'seam-differs')).toMatchObject([
      { data: { channel: 'import', from: '2025-12-01' } },
    ]);
  });
});
