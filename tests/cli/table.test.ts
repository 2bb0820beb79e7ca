import fc from 'fast-check';
import stringWidth from 'string-width';
import { describe, expect, test } from 'vitest';
import { heading, shortened, table, wrap } from '../../packages/cli/src/render/text.ts';
import { duskbank, folderWith } from './support.ts';

const RIGHT = { align: 'right' as const };
const widest = (text: string) => Math.max(...text.split('\n').map((line) => stringWidth(line)));

describe('a table', () => {
  test('has two spaces between columns, whatever stands in them', () => {
    expect(
      table(
        [{ head: 'step' }, { head: 'bill\nUSD', ...RIGHT }, { head: 'saved', ...RIGHT }],
        [
          ['today', '1,234,567.89', ''],
          ['battery', '0.50', '−1,234,567.39'],
        ],
      ),
    ).toBe(
      [
        '                 bill',
        'step              USD          saved',
        '───────  ────────────  ─────────────',
        'today    1,234,567.89',
        'battery          0.50  −1,234,567.39',
      ].join('\n'),
    );
  });

  test('puts the columns that don’t fit into a second one below, under the first column again', () => {
    const number = '−1,234,567,890,123.45';
    const text = table(
      [{ head: 'strategy' }, ...['a', 'b', 'c', 'd', 'e'].map((head) => ({ head, ...RIGHT }))],
      [['window', number, number, number, number, '7']],
    );
    expect(text).toBe(
      [
        'strategy                      a                      b                      c',
        '────────  ─────────────────────  ─────────────────────  ─────────────────────',
        'window    −1,234,567,890,123.45  −1,234,567,890,123.45  −1,234,567,890,123.45',
        '',
        'strategy                      d  e',
        '────────  ─────────────────────  ─',
        'window    −1,234,567,890,123.45  7',
      ].join('\n'),
    );
  });

  test('cuts names before it does that, and keeps those apart that differ', () => {
    const long = 'Kitchen outlets along the window side of the house, upper row';
    const text = table(
      [{ head: 'circuit' }, { head: 'kWh', ...RIGHT }, { head: 'what it is' }],
      [
        [`${long} 1`, '1,000.5', 'x'.repeat(30)],
        [`${long} 2`, '2.5', 'y'],
      ],
    );
    expect(widest(text)).toBeLessThanOrEqual(80);
    expect(text).toMatch(/^Kitchen .*….* row 1 +1,000\.5 {2}x/m);
    expect(text).toMatch(/^Kitchen .*….* row 2 +2\.5 {2}y/m);
    expect(text).not.toContain('\n\n');
  });

  test('counts what is shown: wide signs, pictures, marks on letters', () => {
    const text = table(
      [{ head: 'circuit' }, { head: 'kWh', ...RIGHT }],
      [
        ['台所の電灯', '1.0'],
        ['🔋 garage', '2.0'],
        ['Cafe\u0301 bar', '3.0'],
        ['plain', '4.0'],
      ],
    );
    const ends = text.split('\n').map((line) => stringWidth(line));
    expect(new Set(ends.slice(2)).size).toBe(1);
    expect(text).toContain('台所の電灯  1.0');
    expect(text).toContain('Cafe\u0301 bar    3.0');
  });

  test('leaves rows that are one text as they are, in every part of it', () => {
    const text = table(
      [{ head: 'a' }, ...Array.from({ length: 4 }, (_, k) => ({ head: String(k), ...RIGHT }))],
      ['Title', ['x', ...Array(4).fill('1'.repeat(30))]],
    );
    expect(text.match(/^Title$/gm)).toHaveLength(2);
    expect(widest(text)).toBeLessThanOrEqual(80);
  });

  test('keeps to its width and never runs cells together or cuts a number', () => {
    const number = fc
      .double({ min: -1e15, max: 1e15, noNaN: true })
      .map((value) => value.toLocaleString('en-US', { maximumFractionDigits: 2 }));
    const name = fc.string({ unit: 'grapheme', minLength: 1, maxLength: 90 });
    const shapes = fc.integer({ min: 1, max: 9 }).chain((columns) =>
      fc.record({
        columns: fc.constant(columns),
        rows: fc.array(fc.tuple(name, fc.array(number, { minLength: columns, maxLength: columns })), {
          minLength: 1,
          maxLength: 6,
        }),
      }),
    );
    fc.assert(
      fc.property(shapes, ({ columns, rows }) => {
        const text = table(
          [{ head: 'name' }, ...Array.from({ length: columns }, (_, k) => ({ head: `c${k}`, ...RIGHT }))],
          rows.map(([first, numbers]) => [first, ...numbers]),
        );
        expect(widest(text)).toBeLessThanOrEqual(80);
        // Put together again from its parts, each row has all of its numbers, in order, each on its own.
        const parts = text.split('\n\n').map((part) => part.split('\n').slice(2));
        for (const [r, [, numbers]] of rows.entries()) {
          let rest = parts.map((part) => ` ${part[r]} `).join('');
          for (const each of numbers) {
            const at = rest.indexOf(`  ${each} `);
            expect(at, `${each} in ${rest}`).toBeGreaterThanOrEqual(0);
            rest = rest.slice(at + 1 + each.length);
          }
        }
      }),
      { seed: 21, numRuns: 400 },
    );
  });
});

describe('a paragraph', () => {
  test('is broken by the columns that its signs take', () => {
    for (const line of wrap('電池 '.repeat(60)).split('\n')) expect(stringWidth(line)).toBeLessThanOrEqual(80);
    for (const line of wrap('battery '.repeat(60), 40, '  ').split('\n')) expect(line.length).toBeLessThanOrEqual(40);
  });

  test('has line breaks of ours alone', () => {
    expect(wrap('a\nb')).toBe('a\\nb');
    expect(heading('a\r\nb')).toBe('a\\r\\nb');
  });

  test('a name is cut between signs, not within one', () => {
    expect(shortened('電池電池', 6)).toBe('電池…');
    expect(shortened('電池電池', 8)).toBe('電池電池');
    expect(shortened('e\u0301e\u0301e\u0301', 2)).toBe('e\u0301…');
  });
});

test('hours by month and hour of the start stand apart, from minutes to the most that is counted', () => {
  const lines = ['start,load kWh'];
  // A load so small that the battery lasts for days, and an evening that empties it in minutes.
  for (let i = 0; i < 60 * 96; i++) {
    const at = new Date(Date.UTC(2025, 0, 13) + i * 900_000);
    lines.push(`${at.toISOString().slice(0, 16)},${at.getUTCMonth() === 0 && at.getUTCHours() === 18 ? 1.4 : 0.01}`);
  }
  const folder = folderWith({
    'home.csv': `${lines.join('\n')}\n`,
    'site.json': JSON.stringify({
      format: 'duskbank.site/1',
      name: 'A home',
      zone: 'America/Denver',
      meter: { files: ['home.csv'] },
      tariff: 'tariff.json',
      plant: { battery: { units: 1, usableKwh: 2, chargeKw: 2, dischargeKw: 6, roundTripEfficiency: 0.9 } },
      backup: { load: { share: 1 } },
    }),
    'tariff.json': JSON.stringify({
      format: 'duskbank.tariff/1',
      name: 'A tariff',
      currency: 'USD',
      windows: [
        { name: 'peak', kind: 'peak', from: '16:00', to: '21:00', pricePerKwh: 0.4 },
        { name: 'rest', otherwise: true, pricePerKwh: 0.15 },
      ],
    }),
  });
  const run = duskbank(['outage', 'site.json', '--full'], folder);
  expect(run.status, run.stderr).toBe(0);
  const page = run.stdout.split('\n');
  const from = page.findIndex((line) => line.startsWith('When it is short'));
  const grid = page.slice(from + 3, from + 27);
  expect(page[from + 1]).toMatch(/^hour( +[A-Z][a-z]{2})+$/);
  const report = JSON.parse(duskbank(['outage', 'site.json', '--json'], folder).stdout);
  const months: (number | null)[][] = report.byMonthHour.filter((row: (number | null)[]) =>
    row.some((v) => v !== null),
  );
  expect(months.flat().some((hours) => hours !== null && hours < 1)).toBe(true);
  expect(months.flat().some((hours) => hours !== null && hours >= 10)).toBe(true);
  for (const [h, line] of grid.entries()) {
    const [hour, ...cells] = line.split(/ +/);
    expect(hour).toBe(`${String(h).padStart(2, '0')}:00`);
    expect(cells).toHaveLength(months.length);
    for (const [m, cell] of cells.entries()) {
      const hours = months[m]![h]!;
      // To the digit shown.
      expect(Math.abs(Number(cell.replace('+', '')) - hours), line).toBeLessThanOrEqual(hours < 9.95 ? 0.05 : 0.5);
    }
  }
});
