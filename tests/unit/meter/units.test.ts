// Units that are no plain kWh, Wh, kW or W are asked about.
import { faultsOf } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { errors, HOURS, read, table, total } from '../../support/meter-tables.ts';

const file = (name: string, scale = 1) =>
  table(
    `Start,${name}`,
    HOURS.map((label, i) => `${label},${Math.round(scale * (700 + (i % 5) * 50))}`),
  );
/** Of {@link file}, in its own unit. */
const sum = HOURS.reduce((all, _, i) => all + 700 + (i % 5) * 50, 0);

describe('a number before the unit', () => {
  test.each(['usage 10 Wh', 'usage (10 Wh)', 'Import in 5 Wh', 'Import x100 Wh', 'usage [0.5 kWh]', 'Wh x 10 Wh'])(
    '%s is a question, and both of its answers work',
    (name) => {
      const asked = read(file(name));
      expect(asked.series).toBeUndefined();
      expect(asked.findings).toMatchObject([{ code: 'unit-multiple', severity: 'error', lines: [1] }]);
      expect(total(file(name), 'import', { unit: 'Wh' })).toBeCloseTo(sum / 1000, 6);
      expect(total(file(name, 0.1), 'import', { unit: 'Wh', adjust: { scale: { import: 10 } } })).toBeCloseTo(
        sum / 1000,
        6,
      );
    },
  );

  test.each([
    'Register 1 Wh',
    'Tier 2 (Wh)',
    'T1 Wh',
    'Usage (Wh)',
    'Usage 1 Wh',
    '2025 Usage Wh',
    'Meter 10 import Wh',
  ])('%s is none', (name) => {
    expect(total(file(name), 'import')).toBeCloseTo(sum / 1000, 6);
  });
});

describe('units of heat and gas', () => {
  test.each(['BTU', 'kBtu', 'MMBtu', 'MJ', 'GJ', 'm3', 'm³', 'gal', 'gallons', 'ccf', 'therms', 'kcal'])(
    '%s is not read as energy',
    (unit) => {
      for (const name of [`usage ${unit}`, `Usage (${unit})`, `Import_${unit}`]) {
        // Gas and water are named for what they are.
        expect([['columns-unclear'], ['not-meter-data']]).toContainEqual(errors(file(name)));
        expect(errors(file(name), { columns: { import: 2 } })).toEqual(['unit-unknown']);
        expect(total(file(name), 'import', { columns: { import: 2 }, unit: 'Wh' })).toBeCloseTo(sum / 1000, 6);
      }
    },
  );

  test('in a units column neither', () => {
    for (const unit of ['BTU', 'kBtu', 'MJ', 'm³'])
      expect(errors(file('Usage').replace('Usage', 'Usage,Unit').replaceAll(/(\d)$/gm, `$1,${unit}`))).toEqual([
        'no-readings',
      ]);
  });
});

describe('no unit anywhere', () => {
  /** Two days of quarter hours at so many watts, with an evening. */
  const quarters = (perKw: number) =>
    table(
      'Date,Usage',
      Array.from({ length: 192 }, (_, i) => {
        const label = new Date(Date.UTC(2026, 0, 5) + i * 900_000).toISOString().slice(0, 16).replace('T', ' ');
        return `${label},${Math.round((i % 96 > 70 && i % 96 < 88 ? 1.2 : 0.2) * perKw)}`;
      }),
    );

  test('hundredths of a kWh are asked about, with what each answer makes, and none is taken as kW of a vast home', () => {
    // 0.2 kW for 79 quarters and 1.2 kW for 17: 9.05 kWh a day; in hundredths a quarter hour of 1 kW counts 25.
    const asked = read(quarters(25));
    expect(asked.series).toBeUndefined();
    const [fault] = faultsOf('home.csv', asked.findings);
    expect(fault!.data!.choices).toEqual([
      { unit: 'kW', times: 1, dailyKwh: 226.25 },
      { unit: 'Wh', times: 1, dailyKwh: 0.905 },
      { unit: 'Wh', times: 10, dailyKwh: 9.05 },
      { unit: 'Wh', times: 100, dailyKwh: 90.5 },
    ]);
    expect(fault!.hint).toContain('adjust: { scale: { import: 10 } }');
    expect(fault!.hint).toContain('--unit Wh --scale import=10');
    expect(total(quarters(25), 'import', { unit: 'Wh', adjust: { scale: { import: 10 } } })).toBeCloseTo(18.1, 9);
  });

  test('where one unit is left that makes a rare home, it is asked about too', () => {
    // Only W are left, and 181 kWh a day are too many to be taken unasked.
    const vast = quarters(20_000);
    expect(errors(vast)).toEqual(['unit-unknown']);
    expect(total(vast, 'import', { unit: 'W' })).toBeCloseTo(90.5 * 4, 6);
  });
});
