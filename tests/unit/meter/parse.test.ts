import { type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';

const zone = 'America/Denver';
const read = (text: string, options: ParseOptions = {}) => parseIntervalData(text, { zone, ...options });
const codes = (text: string, options: ParseOptions = {}) =>
  read(text, options)
    .findings.map((finding) => finding.code)
    .filter((code) => code !== 'coarse-steps');
const at = (text: string, options: ParseOptions = {}) =>
  new Date(read(text, options).series!.axis.startEpochMs).toISOString();

describe('time columns', () => {
  const body = (labels: string[]) =>
    `start,import kWh\n${labels.map((label, i) => `${label},0.${i + 1}`).join('\n')}\n`;
  // 2026-01-05 00:00 in Denver is 07:00 UTC (−7 h).
  test.each([
    ['ISO local', ['2026-01-05 00:00', '2026-01-05 00:15', '2026-01-05 00:30'], '2026-01-05T07:00'],
    ['ISO with seconds', ['2026-01-05T00:00:00', '2026-01-05T00:15:00', '2026-01-05T00:30:00'], '2026-01-05T07:00'],
    ['ISO with offset', ['2026-01-05T00:00-07:00', '2026-01-05T00:15-07:00'], '2026-01-05T07:00'],
    ['UTC', ['2026-01-05T07:00Z', '2026-01-05T07:15Z'], '2026-01-05T07:00'],
    ['epoch seconds', ['1767596400', '1767597300'], '2026-01-05T07:00'],
    ['day first, settled by a day over 12', ['13/01/2026 23:45', '14/01/2026 00:00'], '2026-01-14T06:45'],
    ['month first, two-digit year, 12-hour clock', ['1/31/26 11:45 PM', '2/1/26 12:00 AM'], '2026-02-01T06:45'],
    ['month named', ['01jan2026 00:00', '01jan2026 00:15'], '2026-01-01T07:00'],
    ['month named with slashes', ['01/Dec/2025 00:00', '01/Dec/2025 00:15'], '2025-12-01T07:00'],
    ['compact', ['202601050000', '202601050015'], '2026-01-05T07:00'],
    ['zone letters', ['2026-01-05 00:00 MST', '2026-01-05 00:15 MST'], '2026-01-05T07:00'],
  ])('%s', (_, labels, start) => {
    expect(at(body(labels))).toBe(`${start}:00.000Z`);
    expect(read(body(labels)).series?.importKwh?.[1]).toBe(0.2);
  });

  test('day and month are settled by dates that follow each other', () => {
    const rows = ['01/02/2026', '02/02/2026', '03/02/2026'].flatMap((date) => [`${date} 00:00`, `${date} 12:00`]);
    expect(at(body(rows.flatMap((row) => [row, row.replace(':00', ':30')])))).toBe('2026-02-01T07:00:00.000Z');
  });

  test('a single date that reads both ways is a question, and its answer is followed', () => {
    const text = body(['03/04/2026 00:00', '03/04/2026 00:15', '03/04/2026 00:30']);
    expect(codes(text)).toEqual(['date-order-unclear']);
    expect(at(text, { dateOrder: 'day-first' })).toBe('2026-04-03T06:00:00.000Z');
    expect(at(text, { dateOrder: 'month-first' })).toBe('2026-03-04T07:00:00.000Z');
  });

  test('24:00 shows that labels are ends', () => {
    const text = 'time,kWh\n2026-01-05 00:30,1\n2026-01-05 01:00,2\n2026-01-05 24:00,3\n';
    expect(at(text)).toBe('2026-01-05T07:00:00.000Z');
    expect(read(text).layout.evidence).toContain('labels are interval ends: 24:00 occurs');
  });
});

describe('clock changes', () => {
  const hours = (day: string, labels: string[], value = (i: number) => i + 1) =>
    `start,kWh import\n${labels.map((label, i) => `${day} ${label}:00,${value(i)}`).join('\n')}\n`;
  const spring = ['00', '01', '03', '04', '05'];
  test('a missing spring hour is no gap', () => {
    const result = read(hours('2026-03-08', spring));
    expect(result.findings.map((finding) => finding.code)).toEqual(['coarse-steps']);
    expect([...result.series!.importKwh!]).toEqual([1, 2, 3, 4, 5]);
  });
  test('an autumn hour there twice is kept twice', () => {
    const result = read(hours('2026-11-01', ['00', '01', '01', '02', '03']));
    expect([...result.series!.importKwh!]).toEqual([1, 2, 3, 4, 5]);
    expect(result.findings.map((finding) => finding.code)).toEqual(['coarse-steps', 'autumn-hour-repeated']);
  });
  test('an autumn hour there once leaves the second pass a gap', () => {
    const result = read(hours('2026-11-01', ['00', '01', '02', '03'], () => 1));
    expect([...result.series!.importKwh!]).toEqual([1, 1, Number.NaN, 1, 1]);
  });
  test('an autumn hour with the energy of two is split', () => {
    const result = read(hours('2026-11-01', ['00', '01', '02', '03'], (i) => (i === 1 ? 2 : 1)));
    expect([...result.series!.importKwh!]).toEqual([1, 1, 1, 1, 1]);
  });
});

describe('what cannot be trusted is told, with its lines', () => {
  const quarter = (rows: string[]) => `start,import_kwh\n${rows.join('\n')}\n`;
  test('gaps, text and duplicates', () => {
    const result = read(
      quarter([
        '2026-01-05 00:00,0.1',
        '2026-01-05 00:15,0.2',
        '2026-01-05 00:15,0.2',
        '2026-01-05 00:45,broken',
        '2026-01-05 01:00,0.4',
        '2026-01-05 01:15,0.4',
        '2026-01-05 01:15,0.5',
        '2026-01-05 01:30,0.5',
      ]),
    );
    expect([...result.series!.importKwh!]).toEqual([0.1, 0.2, Number.NaN, Number.NaN, 0.4, Number.NaN, 0.5]);
    expect(result.findings.map(({ code, lines, count }) => ({ code, lines, count }))).toEqual([
      { code: 'not-a-number', lines: [5], count: 1 },
      { code: 'duplicate-differs', lines: [8], count: 1 },
      { code: 'gap', lines: [4, 6], count: 3 },
      { code: 'duplicate', lines: undefined, count: 1 },
    ]);
  });
  test.each([
    ['', 'empty'],
    ['hello', 'no-time-column'],
    ['a,b\n1,2\n3,4\n', 'no-time-column'],
    ['date,kWh\n2026-01-01,30\n2026-01-02,31\n2026-01-03,29\n', 'no-interval-data'],
    ['start,first,second\n2026-01-01 00:00,1,2\n2026-01-01 00:15,1,2\n', 'columns-unclear'],
    ['start,usage\n2026-01-01 00:00,1\n2026-01-01 00:15,1\n', 'unit-unknown'],
    ['PK\u0003\u0004\u0000\u0000', 'binary'],
  ])('%j', (text, code) => {
    const result = read(text);
    expect(result.series).toBeUndefined();
    expect(result.findings[0]).toMatchObject({ code, severity: 'error' });
  });
  test('scattered missing rows are gaps, and steps that don’t fit into each other an error', () => {
    const label = (minute: number) => new Date(Date.UTC(2026, 0, 5) + minute * 60_000).toISOString();
    const rows = (from: number, count: number, step: number) =>
      Array.from({ length: count }, (_, i) => `${label(from + i * step)},0.1`);
    expect(codes(quarter([...rows(0, 96, 30), ...rows(2880, 400, 20)]))).toEqual(['mixed-steps']);
    const sparse = rows(0, 400, 15).filter((_, i) => i % 9 !== 4);
    expect(codes(quarter(sparse))).toEqual(['gap']);
  });
  test.each([
    ['power by the start', 'Puissance (W)', 'start', false],
    ['power by the end', 'Puissance (W)', 'end', false],
    ['power by the end, newest first', 'Puissance (W)', 'end', true],
    ['energy by the start', 'Import (Wh)', 'start', false],
    ['energy with both ends', 'Import (Wh)', 'both', false],
    ['energy with both ends, newest first', 'Import (Wh)', 'both', true],
  ] as const)('a step that changes from row to row, %s: every kWh in its hour', (_, name, ends, newestFirst) => {
    const rows: string[] = [];
    const hours = new Float64Array(30 * 24);
    const text = (minute: number) =>
      new Date(Date.UTC(2025, 0, 1) + minute * 60_000).toISOString().slice(0, 16).replace('T', ' ');
    // Half hours for ten days, hours for ten, half hours again.
    for (let minute = 0; minute < 30 * 1440; ) {
      const step = minute < 14_400 || minute >= 28_800 ? 30 : 60;
      const watts = 200 + (((minute / 30) * 37) % 900);
      const wh = (watts * step) / 60;
      hours[Math.floor(minute / 60)]! += wh / 1000;
      const times = { start: [minute], end: [minute + step], both: [minute, minute + step] }[ends].map(text);
      rows.push([...times, name.endsWith('(W)') ? watts : wh].join(';'));
      minute += step;
    }
    if (newestFirst) rows.reverse();
    const header = ends === 'both' ? `Start;End;${name}` : `Horodate;${name}`;
    const { series, findings } = parseIntervalData([header, ...rows, ''].join('\n'), { zone: 'Etc/UTC' });
    expect(findings.map(({ code }) => code)).toEqual(expect.arrayContaining(['steps-change']));
    expect(findings.filter(({ severity }) => severity !== 'note').map(({ code }) => code)).toEqual(['coarse-steps']);
    expect(series!.axis).toMatchObject({ stepMinutes: 60, intervals: 720, startEpochMs: Date.UTC(2025, 0, 1) });
    series!.importKwh!.forEach((kwh, i) => {
      expect(kwh, `hour ${i}`).toBeCloseTo(hours[i]!, 9);
    });
  });
  test('a reading of 1970 among those of a year is a misread date: an error with its line', () => {
    const label = (minute: number) => new Date(Date.UTC(2026, 0, 5) + minute * 60_000).toISOString();
    const rows = Array.from({ length: 400 }, (_, i) => `${label(i * 15)},0.1`);
    rows[7] = '1970-01-05T00:00:00Z,0.1';
    expect(read(quarter(rows)).findings[0]).toMatchObject({
      code: 'span-too-long',
      severity: 'error',
      lines: [9, 401],
    });
  });
  test('units by a bill and by a price', () => {
    const rows = Array.from(
      { length: 192 },
      (_, i) =>
        `${new Date(Date.UTC(2026, 0, 5, 7) + i * 900_000).toISOString()},${(1 + (i % 5) / 10).toFixed(1)},${(0.06 * (1 + (i % 5) / 10)).toFixed(3)}`,
    );
    const text = `start,usage,cost\n${rows.join('\n')}\n`;
    // 192 quarter hours of 1.2 on average: 230 kWh, or 57.6 kWh where they are kW. A cost of 0.06 a value: 0.06, or 0.24 a kWh.
    expect(codes(text)).toContain('unit-unknown');
    expect(read(text, { billedKwh: 58 }).series?.importKwh?.[0]).toBe(0.25);
    expect(read(text, { billedKwh: 228 }).series?.importKwh?.[0]).toBe(1);
    expect(read(text, { pricePerKwh: 0.25 }).series?.importKwh?.[0]).toBe(0.25);
  });
  test('two meters in one file: asks which', () => {
    const rows = Array.from({ length: 96 }, (_, i) =>
      new Date(Date.UTC(2026, 0, 5, 7) + i * 900_000).toISOString(),
    ).flatMap((label) => [`111,${label},0.1`, `222,${label},0.3`]);
    const text = `Meter Number,start,import kWh\n${rows.join('\n')}\n`;
    expect(read(text).findings).toMatchObject([{ code: 'several-usage-points', count: 2 }]);
    expect(read(text, { usagePoint: 2 }).series?.importKwh?.[5]).toBe(0.3);
    expect(read(text, { usagePoint: [1, 2] }).series?.importKwh?.[5]).toBe(0.4);
  });
  test('an unknown or a missing zone', () => {
    expect(parseIntervalData('start,kWh\n', { zone: 'Mars/Olympus' }).findings[0]?.code).toBe('unknown-zone');
    expect(parseIntervalData(quarter(['2026-01-05 00:00,1', '2026-01-05 00:15,1'])).findings[0]?.code).toBe(
      'zone-missing',
    );
  });
});

test('how far labels lay off the grid is told as it was: five minutes of an hour are no few seconds', () => {
  const told = (late: string) => {
    const labels = Array.from(
      { length: 48 },
      (_, h) => `2026-01-0${5 + Math.floor(h / 24)}T${String(h % 24).padStart(2, '0')}:00:00`,
    );
    labels[7] = `2026-01-05T07:${late}`;
    const text = `start,import kWh\n${labels.map((label, i) => `${label},0.${(i % 9) + 1}`).join('\n')}\n`;
    return read(text).findings.find(({ code }) => code === 'clock-drift');
  };
  expect(told('00:08')).toMatchObject({
    data: { mostSeconds: 8 },
    message: expect.stringContaining('labels up to 8 s off the grid'),
  });
  expect(told('05:00')).toMatchObject({
    data: { mostSeconds: 300 },
    message: expect.stringContaining('labels up to 5 minutes off the grid'),
  });
});
