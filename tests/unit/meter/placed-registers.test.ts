import { faultsOf, type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';

// Columns that a register's place alone names (`Rate 1`, `Register 2`): docs/reference/interval-files.md.

const two = (n: number) => String(n).padStart(2, '0');
type Counts = (day: number, hour: number) => number;
const drawn: Counts = (day, hour) => 0.3 + ((day * 7 + hour * 5) % 23) / 100;
const dear: Counts = (day, hour) => (hour >= 7 && hour < 22 ? drawn(day, hour) : 0);
const cheap: Counts = (day, hour) => (hour >= 7 && hour < 22 ? 0 : drawn(day, hour));
const sold: Counts = (_, hour) => (hour > 10 && hour < 15 ? 0.5 : 0);
const price: Counts = (_, hour) => (hour >= 7 && hour < 22 ? 0.31 : 0.22);
const table = (columns: Readonly<Record<string, Counts>>) => {
  const lines = [['Time', ...Object.keys(columns)].join()];
  for (let day = 1; day <= 28; day++)
    for (let hour = 0; hour < 24; hour++) {
      const cells = Object.values(columns).map((counts) => counts(day, hour).toFixed(2));
      lines.push([`2026-03-${two(day)} ${two(hour)}:00`, ...cells].join());
    }
  return [...lines, ''].join('\n');
};
const sumOf = (counts: Counts) => {
  let sum = 0;
  for (let day = 1; day <= 28; day++) for (let hour = 0; hour < 24; hour++) sum += counts(day, hour);
  return sum;
};
const parsed = (text: string, options: ParseOptions = {}) =>
  parseIntervalData(text, { zone: 'Europe/Berlin', unit: 'kWh', ...options });
const kwhOf = (values: Float64Array | undefined) => values?.reduce((sum, kwh) => sum + kwh, 0);
const hintOf = (data: ReturnType<typeof parsed>) => faultsOf('a.csv', data.findings)[0]?.hint;

const PAIRS = [
  ['Rate 1', 'Rate 2'],
  ['First rate', 'Second rate'],
  ['Tariff 1', 'Tariff 2'],
  ['T1', 'T2'],
  ['Register 1', 'Register 2'],
  ['E1', 'E2'],
] as const;

describe('registers by their place in columns', () => {
  test.each(PAIRS)('are asked with both columns, and the answer adds them: %s, %s', (one, other) => {
    const text = table({ [one]: dear, [other]: cheap });
    const asked = parsed(text);
    expect(asked.findings).toContainEqual(
      expect.objectContaining({
        code: 'columns-unclear',
        data: expect.objectContaining({ why: 'registers', partNumbers: [2, 3] }),
      }),
    );
    expect(hintOf(asked)).toContain('{ path: …, columns: { import: [2, 3] } }');
    const added = parsed(text, { columns: { import: [2, 3] } });
    expect(kwhOf(added.series?.importKwh)).toBeCloseTo(sumOf(drawn), 6);
  });

  test.each(PAIRS)('alone are asked as a register alone: %s, %s', (one, other) => {
    for (const [name, counts] of [
      [one, dear],
      [other, cheap],
      [other, drawn],
    ] as const) {
      const data = parsed(table({ [name]: counts }));
      expect(data.findings).toContainEqual(expect.objectContaining({ code: 'part-alone' }));
      expect(kwhOf(data.series?.importKwh)).toBeCloseTo(sumOf(counts), 6);
    }
    expect(parsed(table({ [one]: drawn })).findings.map(({ code }) => code)).not.toContain('part-alone');
  });

  test('are added where they have a unit of energy and count one at a time, and asked where they don’t', () => {
    const both = parsed(table({ 'Rate 1 kWh': dear, 'Rate 2 kWh': cheap }));
    expect(kwhOf(both.series?.importKwh)).toBeCloseTo(sumOf(drawn), 6);
    const atOnce = parsed(table({ 'Rate 1 kWh': drawn, 'Rate 2 kWh': (day, hour) => drawn(hour, day) }));
    expect(atOnce.findings).toContainEqual(expect.objectContaining({ code: 'parts-unclear' }));
  });

  test('are what was bought beside what is sold, and asked', () => {
    const data = parsed(table({ 'Rate 1': dear, 'Rate 2': cheap, 'Export kWh': sold }));
    expect(data.findings).toContainEqual(
      expect.objectContaining({ code: 'columns-unclear', data: { why: 'unnamed', columnNumbers: [2, 3] } }),
    );
  });

  test.each([
    ['beside what was used', { 'Usage kWh': drawn, 'Rate 1': price }],
    ['beside what was used, with energies in them', { 'Usage kWh': drawn, 'Rate 1': dear, 'Rate 2': cheap }],
    ['beside their total', { 'Rate 1': dear, 'Rate 2': cheap, Total: drawn }],
  ] as const)('are left %s', (_, columns) => {
    expect(kwhOf(parsed(table(columns)).series?.importKwh)).toBeCloseTo(sumOf(drawn), 6);
  });

  test('are prices where they have few values, none of them nothing', () => {
    const data = parsed(table({ 'Rate 1': price }));
    expect(data.series).toBeUndefined();
    expect(hintOf(data)).toContain('columns: { import: 2 }');
  });

  test('the hint of a file without energy names a column of numbers, never one of times or one that isn’t there', () => {
    const text = table({ Tariff: dear });
    expect(hintOf(parsed(text))).toContain('columns: { import: 2 }');
    expect(hintOf(parsed(text.replace('Time,Tariff', 'Time,Temperature')))).toContain('columns: { import: 2 }');
    expect(hintOf(parsed(table({ 'Price (EUR)': price })))).not.toMatch(/import: \d/);
  });
});
