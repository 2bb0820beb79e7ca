// Apparent energy (kVAh) counts current that does no work too, and reactive energy (kvarh) that alone: neither is the kWh of a
// bill (IEC 60050-131: apparent power is the root of the squares of active and reactive power, so never below the active).
import { describe, expect, test } from 'vitest';
import { cureOf } from '../../../packages/core/src/words/cures.ts';
import { HOURS, read, table, total } from '../../support/meter-tables.ts';

const kwh = (i: number) => 0.4 + (i % 7) * 0.05;
const truthKwh = HOURS.reduce((sum, _, i) => sum + kwh(i), 0);
const kvah = (i: number) => kwh(i) / 0.92;
const rows = (header: string, row: (label: string, i: number) => string) => table(header, HOURS.map(row));
const one = (label: string, i: number) => `${label};${kvah(i).toFixed(4)}`;

describe('a file of kVAh or kvarh alone is refused, and says why', () => {
  test.each([
    ['in the header', rows('Start;Usage (kVAh)', one), 'apparent'],
    ['glued in the header', rows('Start;Consumption_KVAH', one), 'apparent'],
    ['in words', rows('Start;Apparent energy', one), 'apparent'],
    ['in French', rows('Horodate;Énergie apparente', one), 'apparent'],
    ['in German', rows('Zeitstempel;Scheinarbeit', one), 'apparent'],
    ['in Italian', rows('Data e ora;Energia apparente', one), 'apparent'],
    ['in German, reactive', rows('Zeitstempel;Blindarbeit', one), 'reactive'],
    ['in Spanish, reactive', rows('Fecha y hora;Energía reactiva', one), 'reactive'],
    ['in a line of units', `Start;Usage\n${rows(';kVAh', one)}`, 'apparent'],
    ['in a line above the table', `All values in kVAh;\n${rows('Start;Usage', one)}`, 'apparent'],
    ['in a column of units', rows('Start;Usage;Unit', (label, i) => `${one(label, i)};kVAh`), 'apparent'],
    [
      'in a column of types',
      rows('Start;Type;Value', (label, i) => `${label};kVArh;${kvah(i).toFixed(4)}`),
      'reactive',
    ],
    ['behind each value', rows('Start;Usage', (label, i) => `${one(label, i)} kVAh`), 'apparent'],
  ])('%s', (_, text, quantity) => {
    const { series, findings } = read(text);
    expect(series).toBeUndefined();
    expect(findings.find(({ severity }) => severity === 'error')).toMatchObject({
      code: 'not-active-energy',
      data: { quantity },
    });
  });

  test('what a home bought in kVAh isn’t passed over beside what it sold in kWh', () => {
    const text = rows('Start;Import kVAh;Export kWh', (label, i) => `${one(label, i)};0.1`);
    expect(read(text).findings[0]).toMatchObject({ code: 'not-active-energy', data: { columnNumbers: [2] } });
    const typed = HOURS.flatMap((label, i) => [`${label};Import;${kvah(i)};kVAh`, `${label};Export;0.1;kWh`]);
    expect(read(table('Start;Direction;Value;Unit', typed)).series).toBeUndefined();
  });

  test('to name the column alone is no answer; its unit with it is one', () => {
    const text = rows('Start;Usage (kVAh)', one);
    const { hint } = cureOf('not-active-energy', 'meter.csv', read(text).findings[0]!.data);
    expect(hint).toContain('{ path: …, columns: { import: 2 }, unit: kWh }');
    expect(read(text, { columns: { import: 2 } }).findings[0]!.code).toBe('not-active-energy');
    expect(total(text, 'import', { columns: { import: 2 }, unit: 'kWh' })).toBeCloseTo(truthKwh / 0.92, 2);
  });
});

describe('beside kWh they are passed over', () => {
  test.each([
    ['columns', rows('Start;Usage kVAh;Usage kWh', (label, i) => `${one(label, i)};${kwh(i)}`)],
    ['columns in German', rows('Zeitstempel;Scheinarbeit kVAh;Wirkarbeit kWh', (l, i) => `${one(l, i)};${kwh(i)}`)],
    [
      'rows',
      table(
        'Start;Value;Unit',
        HOURS.flatMap((label, i) => [`${one(label, i)};kVAh`, `${label};${kwh(i)};kWh`]),
      ),
    ],
    ['a column without a unit', rows('Start;Usage;kVAh', (label, i) => `${label};${kwh(i)};${kvah(i)}`)],
  ])('%s', (_, text) => {
    expect(total(text, 'import')).toBeCloseTo(truthKwh, 6);
  });
});
