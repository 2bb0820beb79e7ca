import { faultsOf } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { kwhOf, readNem12, record200, told } from '../../support/nem12.ts';

// The order of records 200, 300 and 400 and of their fields, suffixes and quality methods: AEMO, Meter Data File Format
// Specification NEM12 and NEM13, and its NMI procedure (from memory).
const half = (kwh: number, many = 48) => Array.from({ length: many }, () => String(kwh));
const record300 = (date: string, cells: readonly string[], behind = 'A,,,20260601000000,') =>
  `300,${date},${cells.join(',')},${behind}`;
const day = (date: string, kwh: number, behind?: string) => record300(date, half(kwh), behind);
const days = (kwh: number, many = 10) =>
  Array.from({ length: many }, (_, k) => day(`202602${String(k + 1).padStart(2, '0')}`, kwh));
const hintOf = (result: ReturnType<typeof readNem12>, code: string) =>
  faultsOf('m.csv', result.findings).find((fault) => fault.code === code)!.hint!;

describe('records 300 above every record 200', () => {
  const second = [record200('E2', { configuration: '' }), ...days(0.5)];

  test('are a fault that names their line: their register would be missing', () => {
    const result = readNem12([...days(0.25), ...second]);
    expect(result.series).toBeUndefined();
    expect(told(result, 'unreadable-row')).toMatchObject([
      { severity: 'error', count: 10, data: { why: 'no-record-200' } },
    ]);
    expect(told(result, 'unreadable-row')[0]!.lines![0]).toBe(2);
  });

  test('are read with their record 200 written above them', () => {
    expect(hintOf(readNem12([...days(0.25), ...second]), 'unreadable-row')).toContain('write the record 200');
    const mended = readNem12([record200('E1', { configuration: '' }), ...days(0.25), ...second]);
    expect(kwhOf(mended.series?.importKwh)).toBeCloseTo(360, 9);
  });

  test('of a record 200 that is left out are no fault', () => {
    const result = readNem12([record200('Q1', { unit: 'kVArh' }), ...days(0.1), record200('E1'), ...days(0.25)]);
    expect(kwhOf(result.series?.importKwh)).toBeCloseTo(120, 9);
    expect(told(result, 'other-quantity')).toMatchObject([{ severity: 'note', lines: [2] }]);
  });
});

describe('a record 300 whose values don’t fit its interval length', () => {
  const eleventh = (cells: readonly string[], behind?: string) => [
    record200('E1'),
    ...days(0.25),
    record300('20260211', cells, behind),
  ];

  test.each([
    ['one too many', half(0.25, 49), 49],
    ['one too few', half(0.25, 47), 47],
    ['two too few', half(0.25, 46), 46],
    ['twice as many', half(0.25, 96), 96],
    ['one blank too many', [...half(0.25, 48), ''], 49],
    ['blanks alone, too many', half(0, 96).map(() => ''), 96],
  ])('is a fault with its line and both counts: %s', (_, cells, found) => {
    const result = readNem12(eleventh(cells));
    expect(result.series).toBeUndefined();
    expect(told(result, 'values-miscounted')).toMatchObject([
      { severity: 'error', lines: [13], data: { minutes: 30, wanted: 48, found } },
    ]);
    expect(told(result, 'not-a-number')).toEqual([]);
  });

  test.each([
    ['60', 24],
    ['15', 96],
    ['5', 288],
  ])('is a fault where the record 200 says %s minutes', (minutes, wanted) => {
    const result = readNem12([record200('E1', { minutes }), ...days(0.25), record200('E2'), ...days(0.5)]);
    expect(told(result, 'values-miscounted')).toMatchObject([{ count: 10, data: { wanted, found: 48 } }]);
    expect(hintOf(result, 'values-miscounted')).toContain('correct the interval length');
  });

  test('is a fault without a quality too', () => {
    const result = readNem12(eleventh(half(0.25, 47), ',,,20260601000000,'));
    expect(told(result, 'values-miscounted')).toMatchObject([{ data: { wanted: 48, found: 47 } }]);
  });

  test.each([
    'A,,,20260601000000,',
    'E52,,,20260601000000,20260602000000',
    'F64,79,"Power outage, 2 hours",20260601000000,',
    'a,0,,20260601000000,,',
    ',,,,',
    '',
  ])('is none where these follow them: %s', (behind) => {
    const result = readNem12(eleventh(half(0.25), behind));
    expect(told(result, 'values-miscounted')).toEqual([]);
    expect(kwhOf(result.series?.importKwh)).toBeCloseTo(132, 9);
  });

  test('is none where one value among them is a letter: that is no number', () => {
    const result = readNem12(eleventh([...half(0.25, 20), 'A', ...half(0.25, 27)]));
    expect(told(result, 'values-miscounted')).toEqual([]);
    expect(told(result, 'not-a-number')).toMatchObject([{ lines: [13] }]);
  });
});

describe('energy of no known direction', () => {
  test.each([
    ['', 'kWh'],
    ['', 'Wh'],
    ['', ''],
    ['', 'kW'],
    ['11', 'kWh'],
    ['Q1', 'MWh'],
  ])('is a fault, suffix %j in %j', (suffix, unit) => {
    const result = readNem12([
      record200(suffix, { configuration: '', unit }),
      ...days(0.25),
      record200('E2', { configuration: '' }),
      ...days(0.5),
    ]);
    expect(result.series).toBeUndefined();
    expect(told(result, 'unreadable-row')).toMatchObject([
      { severity: 'error', lines: [2], data: { why: 'no-direction' } },
    ]);
    expect(hintOf(result, 'unreadable-row')).toContain('together with the records 300 below it');
  });

  test.each([
    ['Q1', 'kVArh'],
    ['K1', 'kVArh'],
    ['S1', 'kVAh'],
    ['D1', 'kW'],
  ])('is no other quantity, %s in %s: a note', (suffix, unit) => {
    const result = readNem12([record200(suffix, { unit }), ...days(0.1), record200('E1'), ...days(0.25)]);
    expect(kwhOf(result.series?.importKwh)).toBeCloseTo(120, 9);
    expect(told(result, 'other-quantity')).toMatchObject([{ severity: 'note', lines: [2] }]);
  });
});

describe('records 400', () => {
  const file = (...lines: string[]) => readNem12([record200('E1'), ...lines, day('20260211', 0.25)]);
  const ten = days(0.25);
  const variable = day('20260211', 0.5, 'V,,,20260601000000,');
  const whole = (...lines: string[]) => readNem12([record200('E1'), ...ten, variable, ...lines, day('20260212', 0.25)]);

  test('right after a record 200 are a fault: the day that they speak of is lost', () => {
    const result = file('400,1,48,N,,', ...ten);
    expect(result.series).toBeUndefined();
    expect(told(result, 'quality-misplaced')).toMatchObject([
      { severity: 'error', lines: [3], data: { why: 'no-day' } },
    ]);
  });

  test('below a day of its own quality are a fault, and blank nothing in silence', () => {
    const result = file(...ten, '400,1,36,A,,', '400,37,48,N,,');
    expect(result.series).toBeUndefined();
    expect(told(result, 'quality-misplaced')).toMatchObject([
      { severity: 'error', lines: [12, 13, 12, 14], data: { why: 'not-variable' } },
    ]);
  });

  // Real files have them, though the format asks for them below quality V alone (common practice, no source).
  test('that say of a whole day the quality that it has change nothing', () => {
    const result = file(...ten, '400,1,48,A,,');
    expect(kwhOf(result.series?.importKwh)).toBeCloseTo(11 * 12, 9);
    expect(result.findings.filter(({ code }) => code.startsWith('quality'))).toEqual([]);
  });

  test.each(['400,1,48,E54,,', '400,1,47,A,,', '400,1,48,,,'])('but not any other: %s', (line) => {
    expect(told(file(...ten, line), 'quality-misplaced')).toMatchObject([{ data: { why: 'not-variable' } }]);
  });

  test('moved below the day that they speak of are read', () => {
    const result = whole('400,1,36,A,,', '400,37,48,N,,');
    expect(kwhOf(result.series?.importKwh)).toBeCloseTo(11 * 12 + 36 * 0.5, 9);
    expect(result.findings.filter(({ code }) => code.startsWith('quality'))).toEqual([]);
  });

  test.each([
    ['none at all', [], 48],
    ['one that ends early', ['400,1,40,A,,'], 8],
    ['one beyond the day', ['400,1,60,A,,'], 48],
    ['one without a quality', ['400,1,48,,,'], 48],
  ] as const)('that are not there for a day of quality V leave gaps, and that is told: %s', (_, lines, gaps) => {
    const result = whole(...lines);
    expect(told(result, 'quality-missing')).toMatchObject([
      { severity: 'warning', lines: [13], count: gaps, energyKwh: gaps * 0.5 },
    ]);
    expect(kwhOf(result.series?.importKwh)).toBeCloseTo(11 * 12 + (48 - gaps) * 0.5, 9);
  });

  test('removed where the day is not known leave a file that is read', () => {
    expect(hintOf(file('400,1,48,N,,', ...ten), 'quality-misplaced')).toContain('remove it');
    expect(kwhOf(file(...ten).series?.importKwh)).toBeCloseTo(132, 9);
  });

  test('below a record 300 that is left out say nothing', () => {
    const result = file(...ten, day('20260231', 0.5, 'V,,,20260601000000,'), '400,1,48,N,,');
    expect(result.findings.filter(({ code }) => code.startsWith('quality'))).toEqual([]);
  });
});

describe('a connection point that is not read', () => {
  const of = (point: string, lines: readonly string[]) => lines.map((line) => line.replace('NMI0000001', point));
  const own = [record200('E1', { configuration: 'E1' }), ...days(0.25)];
  const broken = day('20260211', 0.5).replace('0.5,', '');
  const both = [...own, ...of('NMI0000002', [...own, broken])];

  test('refuses nothing by its faults', () => {
    const result = readNem12(both, { usagePoint: 1 });
    expect(kwhOf(result.series?.importKwh)).toBeCloseTo(120, 9);
    expect(told(result, 'values-miscounted')).toEqual([]);
  });

  test.each([[{ usagePoint: 2 }], [{ usagePoint: [1, 2] }], [{}]])('but does so where it is: %j', (options) => {
    expect(told(readNem12(both, options), 'values-miscounted')).toHaveLength(1);
  });

  test('is told where nothing of it can be read: it may be the one that is meant', () => {
    const nothing = [...of('NMI0000002', [own[0]!, broken]), ...own];
    expect(told(readNem12(nothing, { usagePoint: 1 }), 'values-miscounted')).toHaveLength(1);
  });
});

test.each([
  [{ rows: { E2: 'ignore' } }, ['rows']],
  [{ columns: { import: 3 }, clock: 'local' }, ['columns', 'clock']],
  [{ usagePoint: 1, repeats: 'last' }, undefined],
] as const)('options that do nothing on NEM12 are told: %j', (options, unused) => {
  const result = readNem12([record200('E1', { configuration: 'E1' }), ...days(0.25)], options);
  expect(kwhOf(result.series?.importKwh)).toBeCloseTo(120, 9);
  expect(told(result, 'stated-unused').map(({ data }) => data.options)).toEqual(unused === undefined ? [] : [unused]);
});

describe('a record 300 of a day that no meter measured', () => {
  test.each(['19691231', '22000101'])('is told and left out: %s', (date) => {
    const result = readNem12([record200('E1'), ...days(0.25), day(date, 0.25)]);
    expect(told(result, 'unreadable-row')).toMatchObject([{ severity: 'warning', data: { why: 'record-300' } }]);
    expect(kwhOf(result.series?.importKwh)).toBeCloseTo(120, 9);
  });
});
