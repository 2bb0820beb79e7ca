import {
  describeIssue,
  InputError,
  quoteName,
  showKey,
  showName,
  showValue,
  visible,
  visibleJson,
} from '@duskbank/core/input';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { quoteCell, showCell } from '../../../packages/core/src/input/cell.ts';

/** What a terminal obeys or nobody sees, written down here by hand: the Unicode standard's charts, from memory. */
const UNSEEN = [
  ['\u0000', '\\u0000'],
  ['\u0007', '\\u0007'],
  ['\b', '\\u0008'],
  ['\t', '\\t'],
  ['\n', '\\n'],
  ['\r', '\\r'],
  ['\u001b', '\\u001b'],
  ['\u007f', '\\u007f'],
  ['\u0085', '\\u0085'],
  ['\u009b', '\\u009b'],
  ['\u009d', '\\u009d'],
  ['\u00ad', '\\u00ad'],
  ['\u061c', '\\u061c'],
  ['\u200b', '\\u200b'],
  ['\u200d', '\\u200d'],
  ['\u200e', '\\u200e'],
  ['\u200f', '\\u200f'],
  ['\u2028', '\\u2028'],
  ['\u2029', '\\u2029'],
  ['\u202a', '\\u202a'],
  ['\u202e', '\\u202e'],
  ['\u2060', '\\u2060'],
  ['\u2066', '\\u2066'],
  ['\u2069', '\\u2069'],
  ['\ufeff', '\\ufeff'],
  ['\u{e0041}', '\\udb40\\udc41'],
  ['\ud800', '\\ud800'],
] as const;

const hostile = fc.string({
  unit: fc.oneof(fc.constantFrom(...UNSEEN.map(([raw]) => raw)), fc.string({ unit: 'binary', maxLength: 2 })),
});

describe('visible text', () => {
  test.each(UNSEEN)('%j is written out as %s', (raw, written) => {
    expect(visible(`a${raw}b`)).toBe(`a${written}b`);
  });

  test('what people write in any language stays as it is', () => {
    for (const text of ['Küche & Bad', '台所の電灯', 'مطبخ', 'e\u0301', '☀\ufe0f Solar', '🔋', 'C:\\new', '−12,5 °C'])
      expect(visible(text)).toBe(text);
  });

  test('no control character is left of any text, and a second time changes nothing', () => {
    fc.assert(
      fc.property(hostile, (text) => {
        const once = visible(text);
        for (const [raw] of UNSEEN) expect([...once].includes(raw)).toBe(false);
        expect(/\p{Cc}/u.test(once)).toBe(false);
        expect(visible(once)).toBe(once);
      }),
      { seed: 7, numRuns: 400 },
    );
  });

  test('JSON keeps every value and holds no character that a terminal obeys', () => {
    fc.assert(
      fc.property(fc.dictionary(hostile, hostile), (value) => {
        const json = visibleJson(JSON.stringify(value, null, 2));
        expect(JSON.parse(json)).toEqual(JSON.parse(JSON.stringify(value)));
        for (const [raw] of UNSEEN) if (raw !== '\n') expect([...json].includes(raw)).toBe(false);
      }),
      { seed: 8, numRuns: 300 },
    );
  });

  test('a name is cut at 200 characters, and a character is never cut in two', () => {
    expect(showName('x'.repeat(200))).toBe('x'.repeat(200));
    expect(showName('x'.repeat(201))).toBe(`${'x'.repeat(199)}…`);
    expect(showName('🔋'.repeat(300))).toBe(`${'🔋'.repeat(199)}…`);
    expect(showName('\n'.repeat(1e6)).length).toBeLessThanOrEqual(200);
  });

  test('no text of an issue adds a line to its sentence', () => {
    const bad = 'x\nerror: all is well\u001b[2J';
    const issue = {
      code: 'any',
      where: { file: bad, line: 3, column: bad, path: [bad, 0], name: bad },
      received: bad,
      expected: bad,
      hint: bad,
    };
    const told = new InputError([issue]).message;
    expect(told).toBe(describeIssue(issue));
    expect(told.split('\n')).toHaveLength(2);
    expect(told.split('\n')[1]).toMatch(/^ {2}hint: x\\nerror/);
    expect(told).not.toContain('\u001b');
  });
});

describe('a faulty cell is quoted only where it reads like what its column holds', () => {
  test.each([
    ['2025-02-30', 'time'],
    ['2025-02-30T12:00', 'time'],
    ['30/02/2025 25:99', 'time'],
    ['2025-01-16T23:', 'time'],
    ['2/30/25 1:15 PM', 'time'],
    ['31-Jun-2025 00:15', 'time'],
    ['31/September/2025', 'time'],
    ['Feb 30, 2025', 'time'],
    ['20250230', 'time'],
    ['24:75', 'time'],
    ['2025-13-01 00:00-07:00', 'time'],
    ['2025-13-01 00:00 MST', 'time'],
    ['ERR', 'number'],
    ['NaN', 'number'],
    ['-Infinity', 'number'],
    ['#VALUE!', 'number'],
    ['1.2.3', 'number'],
    ['0.25 kWh', 'number'],
    ['1,2,3', 'number'],
    ['(0.5', 'number'],
    ['1e999', 'number'],
    ['$ 12.3.4', 'number'],
    ['2025-01-01 00:15', 'number'],
  ] as const)('%s', (cell, holds) => {
    expect(quoteCell(cell, holds)).toBe(`"${cell}"`);
    expect(showCell(` ${cell} `, holds)).toBe(`"${cell}"`);
  });

  test.each([
    'Odalys Quillfeather',
    'Odalys',
    '14 Mossbank Lane',
    'odalys@example.org',
    '7788990011',
    '77-8899-0011',
    '778 899 0011',
    '(555) 010-4477',
    '555-010-4477',
    '078-05-1120',
    'QZ61020099',
    '6102.0099.1177',
    '77.88.99.0011',
    '77-88-9900',
    '610.209.9',
    '6102099',
    '77\u00a088\u00a099\u00a000\u00a011',
    '6102/0099/11',
    '12 345 678 901',
    '2025 Mossbank Lane',
    'Jan Quillfeather',
    'May 12 Quillfeather',
    '14 Mayfield 20',
    'Marsh 12, 2025',
    '12-May-778899',
    'x'.repeat(41),
  ])('%s is quoted in no column', (cell) => {
    for (const holds of ['time', 'number'] as const) {
      expect(quoteCell(cell, holds)).toBeUndefined();
      expect(showCell(cell, holds)).toBe(`a text of ${cell.length} characters, not shown`);
    }
  });

  test('of a date with something else behind it, the date alone is quoted', () => {
    expect(quoteCell('2025-01-13 Odalys Quillfeather', 'time')).toBe('"2025-01-13…"');
    expect(quoteCell('2025-01-13 7788990011', 'time')).toBe('"2025-01-13…"');
    expect(quoteCell('2025-01-13 Odalys', 'number')).toBeUndefined();
  });

  test('never more than 40 characters, letters never but those of months, zones, units and words for no number', () => {
    const words = /jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|utc|gmt|[a-z]{1,2}[sd]t|[ap]\.?m|nan|inf|err|fail/i;
    const cells = fc.oneof(
      fc.string({ unit: fc.constantFrom(...'0123456789.,:-/ TZ()+e$'), maxLength: 50 }),
      fc.string({ maxLength: 60 }),
    );
    fc.assert(
      fc.property(cells, fc.constantFrom('time' as const, 'number' as const), (cell, holds) => {
        const quoted = quoteCell(cell, holds);
        if (quoted === undefined) return;
        expect(quoted.length).toBeLessThanOrEqual(42);
        if (/[a-z]{3}/i.test(quoted)) expect(quoted).toMatch(words);
      }),
      { seed: 9, numRuns: 3000 },
    );
  });
});

describe('a value of a document', () => {
  test.each([
    [undefined, 'nothing'],
    [null, 'null'],
    [true, 'true'],
    [-1.5, '-1.5'],
    [Number.NaN, 'NaN'],
    [7n, '7'],
    ['whole house', '"whole house"'],
    ['0.40 USD', '"0.40 USD"'],
    ['a\u001b]0;b\nc', '"a\\u001b]0;b\\nc"'],
    ['x'.repeat(41), 'a text of 41 characters, not shown'],
    ['Odalys Quillfeather, 14 Mossbank Lane', 'a text of 37 characters, not shown'],
    ['account 7788990011', 'a text of 18 characters, not shown'],
    ['odalys@example.org', 'a text of 18 characters, not shown'],
    ['77 88 99 00 11', 'a text of 14 characters, not shown'],
    ['7,788,990,011', 'a text of 13 characters, not shown'],
    ["7'788'990'011", 'a text of 13 characters, not shown'],
    ['7’788’990.011', 'a text of 13 characters, not shown'],
    ['7_788_990_011', 'a text of 13 characters, not shown'],
    // A price of six decimals, with a comma.
    ['0,123456', '"0,123456"'],
    ['1,234.5', '"1,234.5"'],
    ['778-899-0011', 'a text of 12 characters, not shown'],
    ['77.88.99.0011', 'a text of 13 characters, not shown'],
    ['2026-03-01', '"2026-03-01"'],
    ['2026-03-01 16:30', '"2026-03-01 16:30"'],
    [['778-899-0011'], 'a list of 1'],
    [['2026-03-01'], '["2026-03-01"]'],
    [[0.1234567], 'a list of 1'],
    [[0.123456], '[0.123456]'],
    [['weekday', 'holiday'], '["weekday","holiday"]'],
    [{ 'on-peak': 0.02 }, '{"on-peak":0.02}'],
    [['Odalys Quillfeather', 1], 'a list of 2'],
    [[7788990011], 'a list of 1'],
    [{ name: 'Odalys Quillfeather' }, 'an object'],
  ] as [unknown, string][])('case %#', (value, text) => {
    expect(showValue(value)).toBe(text);
  });

  test('a circle and a function are said to be what they are', () => {
    const circle: Record<string, unknown> = {};
    circle.self = circle;
    expect(showValue(circle)).toBe('an object');
    expect(showValue(() => 0)).toBe('a function');
  });

  test('a key is quoted where it may be one', () => {
    expect(showKey('pricePerKwh')).toBe('the key "pricePerKwh"');
    expect(showKey('a\nb')).toBe('the key "a\\nb"');
    expect(showKey('Odalys Quillfeather, 14 Mossbank Lane')).toBe('a key of 37 characters, not shown');
    expect(showKey('Odalys Quillfeather')).toBe('a key of 19 characters, not shown');
    expect(showKey('account 7788990011')).toBe('a key of 18 characters, not shown');
  });

  test('nothing printed of a value is longer than 42 characters and their escapes, or more than a line', () => {
    fc.assert(
      fc.property(fc.anything(), (value) => {
        const text = showValue(value);
        expect(text.length).toBeLessThanOrEqual(2 + 40 * 6);
        expect(/\p{Cc}/u.test(text)).toBe(false);
      }),
      { seed: 10, numRuns: 1000 },
    );
  });
});

describe('a value that is too much to show', () => {
  test('isn’t written out any further', () => {
    let reached = false;
    const last = {
      toJSON() {
        reached = true;
        return 1;
      },
    };
    expect(showValue({ few: [1, 2], last })).toBe('{"few":[1,2],"last":1}');
    expect(reached).toBe(true);
    reached = false;
    expect(showValue({ many: new Array(1000).fill(0), last })).toBe('an object');
    expect(showValue([{ note: 'some words', last }])).toBe('a list of 1');
    expect(showValue({ readings: new Float64Array(3), last })).toBe('an object');
    expect(reached).toBe(false);
  });
});

test('a number that may be that of an account is told by its digits alone; round ones, and what was reckoned, are shown', () => {
  expect(showValue(61020012345)).toBe('a number of 11 digits, not shown');
  expect(showValue(-1234567)).toBe('a number of 7 digits, not shown');
  expect([showValue(1e9), showValue(123456), showValue(2500000), showValue(0.1234567)]).toEqual([
    '1000000000',
    '123456',
    '2500000',
    '0.1234567',
  ]);
});

describe('a name of a file in a sentence', () => {
  test('stands in marks that it cannot end, whatever it holds', () => {
    expect(quoteName('Home". It saves 9 a year. "x')).toBe('"Home\'. It saves 9 a year. \'x"');
    for (const mark of ['\u201c', '\u201d', '\u201f', '\u2033', '\uff02', "''", '\u2019\u2019', '\u02ba'])
      expect(quoteName(`a${mark}b`)).toBe('"a\'b"');
    // An apostrophe is none.
    expect(quoteName('Anna’s home')).toBe('"Anna’s home"');
  });

  test('is visible and on one line, has no run of blanks and no heap of marks, and is cut', () => {
    expect(quoteName('a\nb\u202ec')).toBe('"a\\nb\\u202ec"');
    expect(quoteName('\u2800')).toBe('"\\u2800"');
    expect(quoteName('a   b\u00a0\u2003c')).toBe('"a b c"');
    expect(quoteName(`A${'\u0301'.repeat(59)}`)).toBe(`"A${'\u0301'.repeat(4)}"`);
    expect(quoteName('x'.repeat(201))).toBe(`"${'x'.repeat(199)}…"`);
  });

  test('holds one mark at each end, whatever it is', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 400 }), (name) => {
        const shown = quoteName(name);
        expect(shown).toMatch(/^"[^"\n\r\u2800\u201c-\u201f]*"$/u);
        expect(shown.length).toBeLessThanOrEqual(402);
      }),
      { seed: 20260310 },
    );
  });
});
