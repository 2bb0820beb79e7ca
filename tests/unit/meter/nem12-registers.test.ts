import { faultsOf } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { kwhOf, readNem12, record200, told } from '../../support/nem12.ts';

/** A record 300 of half hours that all hold `kwh`. */
const day = (date: string, kwh: number | '', { quality = 'A', updated = '20260601000000' } = {}) =>
  `300,${date},${Array.from({ length: 48 }, () => kwh).join(',')},${quality},,,${updated},`;
const channel = (suffix: string, configuration: string, unit = 'kWh', minutes = '30') =>
  record200(suffix, { configuration, unit, minutes });
const dates = (from: number, to: number) =>
  Array.from({ length: to - from + 1 }, (_, k) => `202602${String(from + k).padStart(2, '0')}`);
const days = (from: number, to: number, kwh: number) => dates(from, to).map((date) => day(date, kwh));
// A register of a NEM12 connection point counts all the time: what its day took is the sum of all of them. Records 200
// and their NMIConfiguration say which there are (AEMO, Meter Data File Format Specification; from memory).
describe('registers that are declared', () => {
  test.each([
    ['its records 300 removed', channel('E2', 'E1E2')],
    ['its dates in no calendar', [channel('E2', 'E1E2'), day('20260231', 0.5)].join('\n')],
    ['without a unit that is known', [channel('E2', 'E1E2', 'MJx'), ...days(1, 10, 0.5)].join('\n')],
    ['without an interval length', [channel('E2', 'E1E2', 'kWh', ''), ...days(1, 10, 0.5)].join('\n')],
  ])('one of which nothing can be read is a fault, %s: the others alone are no home', (_, second) => {
    const result = readNem12([channel('E1', 'E1E2'), ...days(1, 10, 0.25), second]);
    expect(result.series).toBeUndefined();
    expect(told(result, 'register-missing')).toMatchObject([
      { severity: 'error', lines: [13], data: { why: 'no-day', register: 'E2', role: 'import' } },
    ]);
  });

  test('export too: without it a home with solar looks like one without', () => {
    const result = readNem12([channel('E1', 'E1B1'), ...days(1, 10, 0.25), channel('B1', 'E1B1')]);
    expect(told(result, 'register-missing')).toMatchObject([
      { data: { why: 'no-day', register: 'B1', role: 'export' } },
    ]);
    expect(result.series).toBeUndefined();
  });

  test('the way out of a register that counts nothing, records of 0, reads the rest', () => {
    const lines = [channel('E1', 'E1E2'), ...days(1, 10, 0.25), channel('E2', 'E1E2'), ...days(1, 10, 0)];
    const result = readNem12(lines);
    expect(kwhOf(result.series?.importKwh)).toBeCloseTo(10 * 12, 9);
    expect(told(result, 'register-missing')).toEqual([]);
  });

  const withoutE2 = [channel('E1', 'E1E2'), ...days(1, 10, 0.25)];
  test('and one that the configuration alone names is told, and withholds savings: what it takes isn’t known', () => {
    const result = readNem12(withoutE2);
    expect(kwhOf(result.series?.importKwh)).toBeCloseTo(10 * 12, 9);
    expect(told(result, 'register-missing')).toMatchObject([
      { severity: 'warning', data: { why: 'not-in-file', register: 'E2', role: 'import', withheld: true } },
    ]);
  });

  test('unless what is read is what was billed; what was billed beside it is told', () => {
    const right = readNem12(withoutE2, { billedKwh: 10 * 12 });
    expect(told(right, 'register-missing')).toMatchObject([{ data: { withheld: false } }]);
    const more = readNem12(withoutE2, { billedKwh: 10 * 24 });
    expect(told(more, 'register-missing')).toMatchObject([{ data: { withheld: true } }]);
    expect(told(more, 'billed-differs')).toHaveLength(1);
  });

  test('of export it withholds nothing: a meter without solar may name it', () => {
    const result = readNem12([channel('E1', 'E1B1'), ...days(1, 10, 0.25)]);
    expect(told(result, 'register-missing')).toMatchObject([{ data: { why: 'not-in-file', withheld: false } }]);
  });

  test('of reactive and other quantities in a configuration nothing is told', () => {
    const result = readNem12([channel('E1', 'E1Q1K1'), ...days(1, 10, 0.25)]);
    expect(result.findings.filter(({ code }) => code !== 'coarse-steps')).toEqual([]);
  });
});

describe('days that one register of several lacks', () => {
  test.each([
    ['first', 'E2', [1, 3], [4, 10]],
    ['last, most of them', 'E2', [4, 10], [1, 3]],
    ['of the first register', 'E1', [1, 6], [7, 10]],
  ] as const)('at the ends are not read, and are told with the energy of the others: %s', (_, lacking, lost, kept) => {
    const other = lacking === 'E1' ? 'E2' : 'E1';
    const result = readNem12([
      channel(other, 'E1E2'),
      ...days(1, 10, 0.25),
      channel(lacking, 'E1E2'),
      ...days(kept[0], kept[1], 0.5),
    ]);
    const many = lost[1] - lost[0] + 1;
    const date = (d: number) => `2026-02-${String(d).padStart(2, '0')}`;
    expect(told(result, 'register-missing')).toMatchObject([
      {
        severity: 'warning',
        count: many,
        data: {
          why: 'days',
          register: lacking,
          days: many,
          runs: [{ from: date(lost[0]), to: date(lost[1]) }],
          others: [other],
          othersKwh: many * 12,
        },
      },
    ]);
    expect(result.series!.axis.intervals).toBe(48 * (10 - many));
    expect(kwhOf(result.series!.importKwh)).toBeCloseTo((10 - many) * 36, 9);
  });

  test('between others are gaps', () => {
    const result = readNem12([
      channel('E1', 'E1E2'),
      ...days(1, 10, 0.25),
      channel('E2', 'E1E2'),
      ...days(1, 2, 0.5),
      ...days(9, 10, 0.5),
    ]);
    expect(told(result, 'gap')).toMatchObject([{ count: 6 * 48 }]);
    expect(kwhOf(result.series!.importKwh)).toBeCloseTo(4 * 36, 9);
    expect(told(result, 'register-missing')[0]!.message).toBe(
      'register E2 (import) has no readings on 6 days (2026-02-03 to 2026-02-08) on which E1 holds 72 kWh: the import of those days is not known, and not read; add them, or records of 0 where it counted nothing',
    );
  });

  test('a day that is all without quality (N) is no reading', () => {
    const result = readNem12([
      channel('E1', 'E1E2'),
      ...days(1, 10, 0.25),
      channel('E2', 'E1E2'),
      ...days(1, 9, 0.5),
      day('20260210', 0, { quality: 'N' }),
    ]);
    expect(told(result, 'register-missing')).toMatchObject([
      { data: { runs: [{ from: '2026-02-10', to: '2026-02-10' }] } },
    ]);
    expect(kwhOf(result.series!.importKwh)).toBeCloseTo(9 * 36, 9);
  });

  test('a register that its own time’s configuration doesn’t name was not there: its days count nothing, and nothing is told', () => {
    const result = readNem12([
      channel('E1', 'E1E2'),
      ...days(1, 3, 0.25),
      channel('E2', 'E1E2'),
      ...days(1, 3, 0.5),
      channel('E1', 'E1'),
      ...days(4, 10, 0.25),
    ]);
    expect(kwhOf(result.series!.importKwh)).toBeCloseTo(3 * 36 + 7 * 12, 9);
    expect(told(result, 'register-missing')).toEqual([]);
    expect(told(result, 'gap')).toEqual([]);
  });

  test('a configuration that names only its own register says nothing of the others', () => {
    const result = readNem12([channel('E1', 'E1'), ...days(1, 10, 0.25), channel('E2', 'E2'), ...days(1, 4, 0.5)]);
    expect(told(result, 'register-missing')).toMatchObject([{ data: { why: 'days', register: 'E2', days: 6 } }]);
    expect(kwhOf(result.series!.importKwh)).toBeCloseTo(4 * 36, 9);
  });

  test('a register whose interval length changes is one register', () => {
    const fine = `300,20260206,${Array.from({ length: 288 }, () => 0.05).join(',')},A,,,20260601000000,`;
    const result = readNem12([
      channel('E1', 'E1E2'),
      ...days(1, 5, 0.25),
      channel('E1', 'E1E2', 'kWh', '5'),
      fine,
      channel('E2', 'E1E2'),
      ...days(1, 6, 0.5),
    ]);
    expect(kwhOf(result.series!.importKwh)).toBeCloseTo(5 * 36 + 288 * 0.05 + 24, 9);
    expect(told(result, 'register-missing')).toEqual([]);
  });
});

describe('records 300 of one day and register', () => {
  const twice = (second: string) => [channel('E1', 'E1'), ...days(1, 10, 0.25), second, ...days(12, 14, 0.25)];

  test('that differ are a fault that names both lines, not an hour that was moved', () => {
    const result = readNem12(twice(day('20260210', 0.5)));
    expect(result.series).toBeUndefined();
    expect(told(result, 'utc-hour-repeated')).toEqual([]);
    expect(told(result, 'day-twice')).toMatchObject([
      {
        severity: 'error',
        lines: [12, 13],
        data: { days: 1, runs: [{ from: '2026-02-10', to: '2026-02-10' }], firstKwh: 12, secondKwh: 24 },
      },
    ]);
    const { hint } = faultsOf('m.csv', result.findings)[0]!;
    expect(hint).toContain('repeats: last }, which leaves out 12 kWh (or first, which leaves out 24 kWh)');
  });

  test.each([
    ['far apart', 0.5, true],
    ['near each other', 0.26, false],
  ])('say whether they may be another register’s, and what all their days hold: %s', (_, kwh, far) => {
    const two = ['20260209', '20260210'].map((date) => day(date, kwh));
    const result = readNem12([channel('E1', 'E1'), ...days(1, 10, 0.25), ...two]);
    expect(told(result, 'day-twice')).toMatchObject([
      {
        count: 2,
        data: { days: 2, runs: [{ from: '2026-02-09', to: '2026-02-10' }], firstKwh: 24, far },
      },
    ]);
    expect(told(result, 'day-twice')[0]!.message.includes('another register’s')).toBe(far);
  });

  test('differ once in a year of files too', () => {
    const oneCell = day('20260210', 0.25).replace('0.25', '0.26');
    expect(told(readNem12(twice(oneCell)), 'day-twice')).toHaveLength(1);
  });

  test.each([
    ['first', 12],
    ['last', 24],
    ['add', 36],
  ] as const)('count as `repeats` says, %s: the date corrected, removed, or chosen leads out', (repeats, kwh) => {
    const result = readNem12(twice(day('20260210', 0.5)), { repeats });
    const tenth = Array.from(result.series!.importKwh!.slice(9 * 48, 10 * 48)).reduce((sum, each) => sum + each, 0);
    expect(tenth).toBeCloseTo(kwh, 9);
    expect(told(result, 'utc-hour-repeated')).toEqual([]);
    expect(told(result, 'repeats-left')).toHaveLength(repeats === 'add' ? 0 : 1);
    const leftKwh = expect.closeTo(repeats === 'first' ? 24 : 12, 9);
    expect(told(result, 'repeats-left').map(({ count, data }) => ({ count, ...data }))).toEqual(
      repeats === 'add'
        ? []
        : [{ count: 48, taken: repeats, stream: 'register E1', readings: 48, differing: 48, leftKwh }],
    );
    expect(told(result, 'gap')).toMatchObject([{ count: 48 }]);
  });

  test('that are equal count once', () => {
    const result = readNem12([channel('E1', 'E1'), ...days(1, 10, 0.25), day('20260210', 0.25)]);
    expect(kwhOf(result.series!.importKwh)).toBeCloseTo(120, 9);
    expect(told(result, 'duplicate')).toMatchObject([{ severity: 'note', count: 48 }]);
  });

  test('of which one lacks what the other has fill each other', () => {
    const result = readNem12([channel('E1', 'E1'), ...days(1, 10, 0.25), day('20260210', '')]);
    expect(kwhOf(result.series!.importKwh)).toBeCloseTo(120, 9);
    expect(told(result, 'day-twice')).toEqual([]);
  });

  test('before a later update all give way to it', () => {
    const result = readNem12([
      channel('E1', 'E1'),
      ...days(1, 10, 0.25),
      day('20260210', 0.5),
      day('20260210', 1, { updated: '20260701000000' }),
    ]);
    expect(kwhOf(result.series!.importKwh)).toBeCloseTo(9 * 12 + 48, 9);
    expect(told(result, 'day-twice')).toEqual([]);
  });
});

describe('ways out of records that others rest on', () => {
  const hintOf = (result: ReturnType<typeof readNem12>, code: string) =>
    faultsOf('m.csv', result.findings).find((fault) => fault.code === code)!.hint!;
  // Its records 300 would count for the register above it, and replace its days where they are later updates.
  test('a record 200 that can’t be read is never removed alone; with its records 300 the rest is read, and told', () => {
    const later = dates(1, 10).map((date) => day(date, 0.5, { updated: '20260602000000' }));
    const first = [channel('E1', 'E1E2'), ...days(1, 10, 0.25)];
    const hint = hintOf(readNem12([...first, channel('E2', 'E1E2', 'kWh', '3O'), ...later]), 'unreadable-row');
    expect(hint).toContain('together with the records 300 below it');
    expect(hint).not.toContain('remove the row');
    expect(kwhOf(readNem12([...first, channel('E2', 'E1E2'), ...later]).series!.importKwh)).toBeCloseTo(360, 9);
    expect(told(readNem12(first), 'register-missing')).toMatchObject([
      { data: { why: 'not-in-file', register: 'E2' } },
    ]);
  });

  test('a record 400 that can’t be read is never removed alone: what it says is no reading would count', () => {
    const file = [channel('E1', 'E1'), ...days(1, 9, 0.25), day('20260210', 0, { quality: 'V' }), '400,1,60,N,,'];
    expect(hintOf(readNem12(file), 'unreadable-row')).toContain('together with the record 300 above it');
  });

  test('two registers under one suffix: with the suffix corrected both are read', () => {
    const both = (suffix: string) => [
      channel('E1', 'E1E2'),
      ...days(1, 10, 0.25),
      channel(suffix, 'E1E2'),
      ...days(1, 10, 0.5),
    ];
    expect(hintOf(readNem12(both('E1')), 'days-twice')).toContain('correct the suffix');
    expect(kwhOf(readNem12(both('E2')).series!.importKwh)).toBeCloseTo(360, 9);
  });
});

describe('of several connection points', () => {
  const second = (line: string) => line.replace('NMI0000001', 'NMI0000002');
  const file = (lines: readonly string[]) => [
    channel('E1', 'E1E2'),
    ...days(1, 10, 0.25),
    channel('E2', 'E1E2'),
    ...days(1, 10, 0.5),
    second(channel('E1', 'E1E2')),
    ...days(1, 10, 1),
    second(channel('E2', 'E1E2')),
    ...lines,
  ];

  test.each([
    ['some days', days(1, 4, 2), 'warning'],
    ['all days', [], 'error'],
  ] as const)('what one lacks is told where it is read, with its number: %s', (_, lines, severity) => {
    const [missing] = told(readNem12(file(lines), { usagePoint: 2 }), 'register-missing');
    expect(missing).toMatchObject({ severity, data: { register: 'E2', usagePoint: 2 } });
    expect(missing!.message).toContain('register E2 (import) of usage point 2');
    expect(missing!.message).not.toContain('NMI');
    expect(told(readNem12(file(lines), { usagePoint: [1, 2] }), 'register-missing')).toHaveLength(1);
  });

  test.each([
    ['some days', days(1, 4, 2)],
    ['all days', []],
    ['a day twice', [...days(1, 10, 2), day('20260203', 3)]],
  ] as const)('what one lacks bears on no other that is read alone: %s', (_, lines) => {
    const result = readNem12(file(lines), { usagePoint: 1 });
    expect(kwhOf(result.series?.importKwh)).toBeCloseTo(360, 9);
    expect([...told(result, 'register-missing'), ...told(result, 'day-twice')]).toEqual([]);
  });
});

describe('days of a register that are nearly all there twice', () => {
  const lost = (kwh: number) => [channel('E1', ''), ...days(1, 10, 0.25), ...days(1, 9, kwh)];

  test.each([undefined, 'first', 'last'] as const)(
    'and differ are another register’s, whatever `repeats` says: %s',
    (repeats) => {
      const result = readNem12(lost(0.5), repeats === undefined ? {} : { repeats });
      expect(result.series).toBeUndefined();
      expect(told(result, 'days-twice')).toMatchObject([
        {
          severity: 'error',
          lines: [3, 13],
          data: { why: 'other-register', register: 'E1', days: 9, ofDays: 10, firstKwh: 108, secondKwh: 216 },
        },
      ]);
      expect(told(result, 'day-twice')).toEqual([]);
      expect(faultsOf('m.csv', result.findings)[0]!.hint).not.toContain('repeats: last');
    },
  );

  test('and are equal are never added', () => {
    const result = readNem12(lost(0.25), { repeats: 'add' });
    expect(result.series).toBeUndefined();
    expect(told(result, 'days-twice')).toMatchObject([{ data: { why: 'equal-added', days: 9, secondKwh: 108 } }]);
    expect(kwhOf(readNem12(lost(0.25)).series?.importKwh)).toBeCloseTo(120, 9);
  });
});
