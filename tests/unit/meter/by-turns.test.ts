// One column of values whose window changes with the hour, and a column that names the window. Registers are invented.
import { parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { errors, HOURS, table, total } from '../../support/meter-tables.ts';

const kwh = (i: number) => 0.5 + (i % 5) * 0.1;
const nameOf = (i: number) => (i % 24 < 6 ? 'NT' : 'HT');
const text = table(
  'Start,Tarif,kWh',
  HOURS.map((label, i) => `${label},${nameOf(i)},${kwh(i).toFixed(3)}`),
);
const all = HOURS.reduce((sum, _, i) => sum + kwh(i), 0);

test.each([
  [{}],
  [{ rows: { HT: 'import', NT: 'import' } }],
  [{ rows: { HT: 'import', '*': 'import' } }],
  [{ rows: { HT: 'import', NT: 'import' }, columns: { type: 'Tarif' } }],
] as const)('all rows are read, whatever is stated of them: %j', (options) => {
  expect(errors(text, options)).toEqual([]);
  expect(total(text, 'import', options)).toBeCloseTo(all, 9);
});

test('what is ignored is a gap and told, not a fault of the answer', () => {
  const { findings } = parseIntervalData(text, { zone: 'America/Denver', rows: { HT: 'import', NT: 'ignore' } });
  expect(findings.map(({ code }) => code)).toEqual(expect.arrayContaining(['energy-left-out', 'gap']));
  expect(findings.map(({ code }) => code)).not.toContain('unknown-rows');
});

test('texts of which no column has any are still refused', () => {
  expect(errors(text, { rows: { Peak: 'import', Valley: 'import' } })).toEqual(['unknown-rows']);
});

test('windows share one clock: standard time all year, with a night window that alone holds the hours of the change', () => {
  const hours = Array.from({ length: 8760 }, (_, i) =>
    new Date(Date.UTC(2025, 0, 1) + i * 3_600_000).toISOString().slice(0, 16).replace('T', ' '),
  );
  const year = table(
    'Start,Tarif,kWh',
    hours.map((label, i) => `${label},${nameOf(i)},${kwh(i).toFixed(3)}`),
  );
  const result = parseIntervalData(year, {
    zone: 'Europe/Berlin',
    columns: { type: 'Tarif' },
    rows: { HT: 'import', NT: 'import' },
  });
  const values = Array.from(result.series!.importKwh!);
  expect(values.filter((value) => Number.isNaN(value))).toEqual([]);
  // Each hour has its own reading; apart, one hour a summer day held two and another none.
  expect(Math.max(...values)).toBeCloseTo(0.9, 9);
  expect(values.reduce((sum, value) => sum + value, 0)).toBeCloseTo(
    hours.reduce((sum, _, i) => sum + kwh(i), 0),
    6,
  );
});

test.each([
  ['a row for each at every time', 0],
  ['a register that lacks a row', 1],
] as const)(
  'registers share one clock, standard time all year, though one is 0 in the skipped hour: %s',
  (_, lacking) => {
    const hours = Array.from({ length: 61 * 24 }, (_, i) =>
      new Date(Date.UTC(2025, 2, 1) + i * 3_600_000).toISOString().slice(0, 16).replace('T', ' '),
    );
    const both = table(
      'Start,Register,kWh',
      hours.flatMap((label, i) =>
        ['HT', 'NT', 'Export'].flatMap((kind) =>
          kind === 'HT' && i % 24 === 2 && i / 24 < lacking
            ? []
            : `${label},${kind},${kind === nameOf(i) ? kwh(i).toFixed(3) : '0.000'}`,
        ),
      ),
    );
    const { series, findings } = parseIntervalData(both, { zone: 'Europe/Berlin' });
    expect(findings.map(({ code }) => code)).toContain('clock-standard');
    expect(findings.map(({ code }) => code)).not.toContain('spring-hour-filled');
    const wrong = Array.from(series!.importKwh!).filter((value, i) => Math.abs(value - kwh(i)) > 1e-9);
    expect(wrong).toEqual([]);
  },
);

test('two counters that are read in turn are never one column', () => {
  const counters = table(
    'Start,Register,kWh',
    HOURS.map((label, i) => `${label},${i % 2 === 0 ? 'HT' : 'NT'},${(i % 2 === 0 ? 1000 : 5000) + i * 0.5}`),
  );
  const read = total(counters, 'import', { rows: { HT: 'import', NT: 'import' } });
  // Either counter rises by a kWh every two hours: 167 half steps of both, and nothing of the 4,000 between them.
  expect(Number.isNaN(read) || read < 200).toBe(true);
});
