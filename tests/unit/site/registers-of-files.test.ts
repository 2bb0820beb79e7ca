import { InputError } from '@duskbank/core/input';
import { loadSite } from '@duskbank/core/site';
import { describe, expect, test } from 'vitest';

const two = (n: number) => String(n).padStart(2, '0');
const tariff = {
  format: 'duskbank.tariff/1',
  name: 'Trial',
  utility: 'Trial Power',
  currency: 'EUR',
  windows: [
    { name: 'peak', from: '16:00', to: '21:00', pricePerKwh: 0.42 },
    { name: 'base', otherwise: true, pricePerKwh: 0.2 },
  ],
};

/** A home of these files, read as a site. */
async function home(files: Readonly<Record<string, string>>, { zone = 'Europe/Berlin', meter = {} } = {}) {
  const site = {
    format: 'duskbank.site/1',
    name: 'Trial',
    zone,
    meter: { files: Object.keys(files), ...meter },
    tariff: 'tariff.json',
  };
  const texts: Readonly<Record<string, string>> = {
    ...files,
    'site.json': JSON.stringify(site),
    'tariff.json': JSON.stringify(tariff),
  };
  const loaded = await loadSite('site.json', async (path) => new TextEncoder().encode(texts[path]));
  const { findings, series } = loaded.pastOf(loaded.tariffs[0]!);
  return { loaded, findings, series };
}

async function faults(read: Promise<unknown>) {
  const error = await read.then(
    () => undefined,
    (thrown: unknown) => thrown,
  );
  expect(error).toBeInstanceOf(InputError);
  return (error as InputError).issues;
}

const nem12 = (suffix: string, kwh: number, configuration = 'E1E2') =>
  [
    '100,NEM12,202606010000,MDP,RET',
    `200,NMI0000001,${configuration},${suffix},${suffix},N1,METER1,kWh,30,`,
    ...Array.from(
      { length: 20 },
      (_, k) => `300,202603${two(k + 1)},${Array.from({ length: 48 }, () => kwh).join(',')},A,,,20260601000000,`,
    ),
    '900',
    '',
  ].join('\n');
const MARKET = { zone: 'Australia/Brisbane' };

describe('a register that a file names and doesn’t hold', () => {
  test('withholds savings where no file of the home holds it', async () => {
    const { loaded } = await home({ 'e1.csv': nem12('E1', 0.25) }, MARKET);
    expect(loaded.study.savingsWithheld).toBe('register E2 (import) is named by the configuration and in no record');
  });

  test('is no matter where another file holds it', async () => {
    const { loaded, findings, series } = await home(
      { 'e1.csv': nem12('E1', 0.25), 'e2.csv': nem12('E2', 0.5) },
      MARKET,
    );
    expect(loaded.study.savingsWithheld).toBeUndefined();
    expect(findings.filter(({ code }) => code === 'register-missing')).toEqual([]);
    expect(series.importKwh!.reduce((sum, kwh) => sum + kwh, 0)).toBe(20 * 48 * 0.75);
  });

  test('nor where a bill says that what is read is all', async () => {
    const files = [{ path: 'e1.csv', billedKwh: 240 }];
    const { loaded } = await home({ 'e1.csv': nem12('E1', 0.25) }, { ...MARKET, meter: { files } });
    expect(loaded.study.savingsWithheld).toBeUndefined();
  });
});

const hours = Array.from({ length: 20 * 24 }, (_, i) => ({ day: 1 + Math.floor(i / 24), hour: i % 24 }));
const isHt = (hour: number) => hour >= 8 && hour < 20;

describe('gaps say why they are gaps', () => {
  test('where one of the files lacks a register: which, its days and what the others hold', async () => {
    const table = (from: number, to: number, names: string, cells: (ht: boolean) => string) =>
      [
        `Zeitpunkt;${names}`,
        ...hours
          .filter(({ day }) => day >= from && day <= to)
          .map(({ day, hour }) => `${two(day)}.03.2026 ${two(hour)}:00;${cells(isHt(hour))}`),
        '',
      ].join('\n');
    const [fault] = await faults(
      home({
        'a.csv': table(1, 10, 'HT kWh;NT kWh', (ht) => (ht ? '0,3;0' : '0;0,2')),
        'b.csv': table(11, 20, 'HT kWh', (ht) => (ht ? '0,3' : '0')),
      }),
    );
    expect(fault).toMatchObject({ code: 'gap', where: { column: 'import' } });
    expect(fault!.received).toContain('column 3 "NT kWh": no import on 10 days (2026-03-11 to 2026-03-20)');
    expect(fault!.received).toContain('column 2 "HT kWh" has 36 kWh');
  });

  const half = (from: number, to: number, names: string, line: (ht: boolean) => string) =>
    [
      names,
      ...hours
        .filter(({ day, hour }) => day >= from && day <= to && line(isHt(hour)) !== '')
        .map(({ day, hour }) => `${two(day)}.03.2026 ${two(hour)}:00;${line(isHt(hour))}`),
      '',
    ].join('\n');
  const columnOf = (name: string, ht: boolean) => (from: number, to: number) =>
    half(from, to, `Zeitpunkt;${name}`, (isHigh) => (isHigh === ht ? '0,3' : '0'));

  test.each([
    ['HT kWh', 'NT kWh'],
    ['Bezug HT (kWh)', 'NT (kWh)'],
    ['Peak (kWh)', 'Off-peak (kWh)'],
    ['T1 (kWh)', 'T2 (kWh)'],
  ])('where one file holds %s alone and the next %s alone: neither is the other by a new name', async (high, low) => {
    const [fault] = await faults(home({ 'a.csv': columnOf(high, true)(1, 10), 'b.csv': columnOf(low, false)(11, 20) }));
    expect(fault).toMatchObject({ code: 'gap', where: { column: 'import' } });
    expect(fault!.received).toContain('no reading from 2026-03-01 to 2026-03-20');
    expect(fault!.received).toMatch(/column 2[^:]*: no import on 10 days \(2026-03-11 to 2026-03-20\)/);
  });

  test('where one file has the dear register first and then the cheap one: at no time are both known', async () => {
    const one = half(1, 20, 'Zeitpunkt;Register;kWh', (isHigh) => (isHigh ? 'HT;0,3' : 'NT;0,2')).split('\n');
    const text = one.filter(
      (line) => line.includes('HT') === Number(line.slice(0, 2)) <= 10 || line.startsWith('Zeit'),
    );
    const [fault] = await faults(home({ 'a.csv': `${text.join('\n')}\n` }));
    expect(fault).toMatchObject({ code: 'no-readings' });
    expect(fault!.received).toContain('at no time are all registers known');
  });

  test('but not where a portal calls a register by another name of the same side', async () => {
    const files = { 'a.csv': columnOf('HT kWh', true)(1, 10), 'b.csv': columnOf('Peak (kWh)', true)(11, 20) };
    // Nothing is counted in the other hours: that it is all has to be said.
    const all = Object.keys(files).map((path) => ({ path, channel: 'import' }));
    const { series } = await home(files, { meter: { files: all } });
    expect(series.importKwh!.reduce((sum, kwh) => sum + kwh, 0)).toBeCloseTo(20 * 12 * 0.3, 9);
  });

  test('nor where a register is "Bezug NT" in rows and "NT" as a column', async () => {
    const rows = half(1, 10, 'Zeitpunkt;Register;kWh', (isHigh) => (isHigh ? 'Bezug HT;0,3' : 'Bezug NT;0,2'));
    const both = half(11, 20, 'Zeitpunkt;HT (kWh);NT (kWh)', (isHigh) => (isHigh ? '0,3;0' : '0;0,2'));
    const { series, findings } = await home({ 'a.csv': rows, 'b.csv': both });
    expect(series.importKwh!.reduce((sum, kwh) => sum + kwh, 0)).toBeCloseTo(20 * 12 * 0.5, 9);
    expect(findings.filter(({ code }) => code === 'part-missing')).toEqual([]);
    const low = half(11, 20, 'Zeitpunkt;NT (kWh)', (isHigh) => (isHigh ? '0' : '0,2'));
    const [fault] = await faults(home({ 'a.csv': rows, 'b.csv': low }));
    expect(fault!.received).toContain('rows of "Bezug HT": no import on 10 days');
  });

  test('where another connection point has fewer registers: it says nothing of this one’s', async () => {
    const ofPoint = (text: string, from: number, to: number, number: string) =>
      text
        .split('\n')
        .filter(
          (line) =>
            !line.startsWith('300,') || (Number(line.slice(10, 12)) >= from && Number(line.slice(10, 12)) <= to),
        )
        .join('\n')
        .replaceAll('NMI0000001', number);
    const both = `${ofPoint(nem12('E1', 0.25), 1, 10, 'NMI0000001').replace('900\n', '')}${ofPoint(nem12('E2', 0.5), 1, 10, 'NMI0000001').replace(/^100.*\n/, '')}`;
    const [fault] = await faults(
      home({ 'a.csv': both, 'b.csv': ofPoint(nem12('E1', 0.25, 'E1'), 11, 20, 'NMI0000002') }, MARKET),
    );
    expect(fault!.received).toContain('register E2: no import on 10 days (2026-03-11 to 2026-03-20)');
    // The same point's own configuration says that it wasn't there.
    const { series } = await home(
      { 'a.csv': both, 'b.csv': ofPoint(nem12('E1', 0.25, 'E1'), 11, 20, 'NMI0000001') },
      MARKET,
    );
    expect(series.importKwh!.reduce((sum, kwh) => sum + kwh, 0)).toBe(480 * 0.75 + 480 * 0.25);
  });

  test('where rows that count by turns are left out: the rows, and that they can be read', async () => {
    const text = [
      'Zeitpunkt;Tarif;Bezug kWh',
      ...hours.map(({ day, hour }) => `${two(day)}.03.2026 ${two(hour)}:00;${isHt(hour) ? 'HT' : 'NT'};0,3`),
      '',
    ].join('\n');
    const files = [{ path: 'a.csv', rows: { HT: 'import', NT: 'ignore' }, columns: { type: 'Tarif' } }];
    const [fault] = await faults(home({ 'a.csv': text }, { meter: { files } }));
    expect(fault!.received).toContain('rows of "NT" (72 kWh)');
    expect(fault!.received).toContain('240 of their readings are of times of which nothing else is read: gaps');
    expect(fault!.hint).toContain('"rows"');
  });
});

const steady = (from: number, to: number, kwh: (day: number) => string = () => '0,3') =>
  [
    'Zeitpunkt;Bezug kWh',
    ...hours
      .filter(({ day }) => day >= from && day <= to)
      .map(({ day, hour }) => `${two(day)}.03.2026 ${two(hour)}:00;${kwh(day)}`),
    '',
  ].join('\n');

test('a `repair` that is stated and doesn’t fill a gap is named, with why', async () => {
  const repair = (maxGapHours: number) =>
    home({ 'a.csv': steady(1, 7), 'b.csv': steady(14, 20) }, { meter: { repair: { maxGapHours } } });
  expect((await faults(repair(24)))[0]!.received).toContain(
    '"maxGapHours": 24 } is stated and doesn’t fill it: it is 144 hours long',
  );
  expect((await faults(repair(144)))[0]!.received).toContain('more than a quarter of the channel');
  expect((await faults(home({ 'a.csv': steady(1, 7), 'b.csv': steady(14, 20) })))[0]!.received).not.toContain('repair');
});

test('a file with no reading within `meter.span` is told by its name', async () => {
  const { findings } = await home(
    { 'a.csv': steady(1, 10), 'b.csv': steady(11, 20) },
    { meter: { span: { to: '2026-03-10' } } },
  );
  expect(findings.filter(({ code }) => code === 'span-empty').map(({ message }) => message)).toEqual([
    'the readings of b.csv, 2026-03-11 to 2026-03-20, lie outside of "meter.span": left out',
  ]);
});

test('files that contradict each other on one of several days are read once the wrong one is cut as the hint says', async () => {
  const files = { 'a.csv': steady(1, 10, (day) => (day === 10 ? '0,9' : '0,3')), 'b.csv': steady(8, 20) };
  const [fault] = await faults(home(files));
  expect(fault).toMatchObject({ code: 'overlap-contradicts' });
  expect(fault!.hint).toContain('span: { to: "2026-03-09" }');
  const cut = [{ path: 'a.csv', span: { to: '2026-03-09' } }, 'b.csv'];
  const { series } = await home(files, { meter: { files: cut } });
  expect(series.importKwh!.reduce((sum, kwh) => sum + kwh, 0)).toBeCloseTo(20 * 24 * 0.3, 9);
});

test('files that share one day and differ on it are read once one of them is cut as the hint says', async () => {
  const files = { 'a.csv': steady(1, 10, (day) => (day === 10 ? '0,9' : '0,3')), 'b.csv': steady(10, 20) };
  const [fault] = await faults(home(files));
  expect(fault!.hint).toContain('span: { to: "2026-03-09" }');
  expect(fault!.hint).toContain('span: { from: "2026-03-11" }');
  const cut = [{ path: 'a.csv', span: { to: '2026-03-09' } }, 'b.csv'];
  const { series } = await home(files, { meter: { files: cut } });
  expect(series.importKwh!.reduce((sum, kwh) => sum + kwh, 0)).toBeCloseTo(20 * 24 * 0.3, 9);
});

describe('a register that the user’s own words leave out of one of two files', () => {
  const isHt = (hour: number) => hour >= 8 && hour < 20;
  const sumKwh = 20 * (12 * 0.3 + 12 * 0.2);
  const rows = (from: number, to: number) =>
    [
      'Zeitpunkt;Tarif;Bezug kWh',
      ...hours
        .filter(({ day }) => day >= from && day <= to)
        .flatMap(({ day, hour }) => [
          `${two(day)}.03.2026 ${two(hour)}:00;HT;${isHt(hour) ? '0,3' : '0'}`,
          `${two(day)}.03.2026 ${two(hour)}:00;NT;${isHt(hour) ? '0' : '0,2'}`,
        ]),
      '',
    ].join('\n');
  const columns = (from: number, to: number) =>
    [
      'Zeitpunkt;HT kWh;NT kWh',
      ...hours
        .filter(({ day }) => day >= from && day <= to)
        .map(({ day, hour }) => `${two(day)}.03.2026 ${two(hour)}:00;${isHt(hour) ? '0,3;0' : '0;0,2'}`),
      '',
    ].join('\n');
  const only = (register: 'HT' | 'NT') => ({
    rows: { HT: register === 'HT' ? 'import' : 'ignore', NT: register === 'NT' ? 'import' : 'ignore' },
  });
  const kwhOf = ({ series }: Awaited<ReturnType<typeof home>>) => series.importKwh!.reduce((sum, kwh) => sum + kwh, 0);

  test('is told as such, and read by the words that are printed: rows', async () => {
    const files = { 'a.csv': rows(1, 10), 'b.csv': rows(11, 20) };
    const [fault] = await faults(home(files, { meter: { files: ['a.csv', { path: 'b.csv', ...only('HT') }] } }));
    expect(fault!.received).toContain('b.csv: rows of "NT" (24 kWh)');
    expect(fault!.hint).toMatch(/^read the rows that are left out: say with "rows" of b\.csv/);
    const told = { HT: 'import', NT: 'import' };
    expect(kwhOf(await home(files, { meter: { files: ['a.csv', { path: 'b.csv', rows: told }] } }))).toBeCloseTo(
      sumKwh,
      9,
    );
  });

  test('is told as such, and read by the words that are printed: columns', async () => {
    const files = { 'a.csv': columns(1, 10), 'b.csv': columns(11, 20) };
    const stated = { path: 'b.csv', columns: { import: 'HT kWh' } };
    const [fault] = await faults(home(files, { meter: { files: ['a.csv', stated] } }));
    expect(fault!.received).toContain('b.csv: column 3 "NT kWh" (24 kWh)');
    const printed = /"columns": (\{.*?\}) of b\.csv/.exec(fault!.hint!)![1]!;
    const followed = [{ path: 'b.csv', columns: JSON.parse(printed) }];
    expect(kwhOf(await home(files, { meter: { files: ['a.csv', ...followed] } }))).toBeCloseTo(sumKwh, 9);
  });

  test('is missing nowhere where another file reads it: one file for each register', async () => {
    const { loaded, ...read } = await home(
      { 'a.csv': rows(1, 20), 'b.csv': rows(1, 20) },
      {
        meter: {
          files: [
            { path: 'a.csv', ...only('HT') },
            { path: 'b.csv', ...only('NT') },
          ],
        },
      },
    );
    expect(kwhOf({ loaded, ...read })).toBeCloseTo(sumKwh, 9);
    expect(read.findings.map(({ code }) => code)).not.toContain('energy-left-out');
    expect(loaded.study.savingsWithheld).toBeUndefined();
  });

  test('that counted nothing may stand in a file of its own', async () => {
    const files = {
      'a.csv': columns(1, 10)
        .replace(/;NT kWh|;[^;\n]*$/gm, '')
        .replaceAll(';0\n', ';0,2\n'),
      'b.csv': columns(11, 20),
      'nt.csv': [
        'Zeitpunkt;NT kWh',
        ...hours.filter(({ day }) => day <= 10).map(({ day, hour }) => `${two(day)}.03.2026 ${two(hour)}:00;0`),
        '',
      ].join('\n'),
    };
    const read = await home(files);
    expect(kwhOf(read)).toBeCloseTo(sumKwh, 9);
    expect(read.findings.map(({ code }) => code)).not.toContain('seam-differs');
  });
});

test('files that differ for less than a day are told with the day and the kWh of both', async () => {
  const { findings } = await home({
    'a.csv': steady(1, 12),
    'b.csv': steady(10, 20).replace(/(10\.03\.2026 05:00;)0,3/, (_, label) => `${label}1,5`),
  });
  expect(findings.find(({ code }) => code === 'overlap-differs')).toMatchObject({
    data: { runs: [{ from: '2026-03-10', to: '2026-03-10' }], firstKwh: 0.3, otherKwh: 1.5 },
  });
});

test('words for rows that leave out all of them are one fault, not two', async () => {
  const text = ['Zeit;Art;kWh', ...hours.map(({ day, hour }) => `${two(day)}.03.2026 ${two(hour)}:00;A;0,3`), ''].join(
    '\n',
  );
  const files = [{ path: 'a.csv', rows: { '1': 'import', '*': 'ignore' }, columns: { type: 'Art' } }];
  expect((await faults(home({ 'a.csv': text }, { meter: { files } }))).map(({ code }) => code)).toEqual([
    'unknown-rows',
  ]);
});
