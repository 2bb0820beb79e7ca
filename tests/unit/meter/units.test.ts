// Units that are no plain kWh, Wh, kW or W are asked about.
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
