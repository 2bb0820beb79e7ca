// What a spreadsheet or a slip has taken from a file is named, and costs are costs. All files are invented.
import { expect, test } from 'vitest';
import { HOURS, read, table } from '../../support/meter-tables.ts';

const kwh = (i: number) => (0.5 + (i % 5) * 0.1).toFixed(3);
const first = (text: string, options = {}) => read(text, options).findings[0]!;

test('rows of a date alone are figures of days, or intervals that lost their times', () => {
  const daysOf = (aDate: number) =>
    table(
      'Date,kWh',
      Array.from({ length: 12 * aDate }, (_, i) => `${String(1 + Math.floor(i / aDate)).padStart(2, '0')}/01/2026,1.5`),
    );
  for (const aDate of [24, 48, 96])
    expect(first(daysOf(aDate))).toMatchObject({ code: 'no-interval-data', data: { why: 'times-lost', aDate } });
  for (const aDate of [1, 2, 3])
    expect(first(daysOf(aDate))).toMatchObject({ code: 'no-interval-data', data: { why: 'no-time-of-day' } });
});

test('a year that no interval meter saw is named, whatever order the dates are stated in', () => {
  for (const [from, to] of [
    ['2026', '1926'],
    ['2026', '2926'],
  ] as const)
    for (const write of [(label: string) => label, (label: string) => label.replace(/^(\d+)-(\d+)-(\d+)/, '$3/$2/$1')])
      for (const options of [{}, { dateOrder: 'day-first' }] as const) {
        const text = table(
          'Start,kWh',
          HOURS.map((label, i) => `${write(label.replace(from, to))},${kwh(i)}`),
        );
        expect(first(text, options)).toMatchObject({ code: 'year-impossible', data: { year: Number(to) } });
      }
});

test('a price of a kWh is not taken for what the row cost', () => {
  const rows = HOURS.map((label, i) => `${label};${kwh(i)};31.4;${(Number(kwh(i)) * 31.4).toFixed(2)}`);
  for (const name of ['Preis', 'Price', 'ct/kWh']) {
    const text = table(`Start;Verbrauch;${name};Kosten`, rows);
    expect(read(text).layout.evidence).toContain('cost divided by value is 31.4');
    // In cents as well as in the file's own money.
    for (const pricePerKwh of [31.4, 0.314])
      expect(read(text, { pricePerKwh }).findings).toContainEqual(
        expect.objectContaining({ code: 'unit-inferred', data: { unit: 'kWh', by: 'cost' } }),
      );
  }
});

test('a register beside the one that is read is told by what it rises, not by the sum of its readings', () => {
  let high = 5000;
  let low = 6000;
  const rows = HOURS.map((label, i) => {
    const row = `${label};${high.toFixed(3)};${low.toFixed(3)}`;
    if (i % 24 < 7) low += 0.5;
    else high += 0.5;
    return row;
  });
  const { findings } = read(table('Start;Stand hoog;Stand laag', rows), { columns: { import: 2 }, unit: 'kWh' });
  const beside = findings.find(({ code }) => code === 'columns-beside')!;
  const [{ energyKwh }] = (beside.data as { columns: [{ energyKwh: number }] }).columns;
  expect(energyKwh).toBeCloseTo(7 * 7 * 0.5, 6);
});

test('Dutch and German registers are read by their names: high, low and what is fed in', () => {
  const rises = [5000, 6000, 1000];
  const rows = HOURS.map((label, i) => {
    const row = [label, ...rises.map((kwh) => kwh.toFixed(3))].join(';');
    const c = i % 24 < 7 ? 1 : i % 24 < 16 ? 2 : 0;
    rises[c] = rises[c]! + 0.5;
    return row;
  });
  for (const names of ['Stand hoog;Stand laag;Stand teruglevering', 'Stand HT;Stand NT;Stand Einspeisung']) {
    const { series } = read(table(`Start;${names}`, rows), { unit: 'kWh' });
    const sum = (values: Float64Array | undefined) => values?.reduce((all, kwh) => all + (kwh || 0), 0);
    // The last reading closes the hour before it.
    expect(sum(series?.importKwh)).toBeCloseTo(7 * 15 * 0.5 - 0.5, 6);
    expect(sum(series?.exportKwh)).toBeCloseTo(7 * 9 * 0.5, 6);
  }
});
