// Registers of price windows, as meters of six languages name them: summed where they are of one direction, asked about where
// it isn't sure. Names are those of tariffs and meters (common practice, no source); what a sum is, is arithmetic.
import { describe, expect, test } from 'vitest';
import { cureOf } from '../../../packages/core/src/words/cures.ts';
import { read, table } from '../../support/meter-tables.ts';

const LABELS = Array.from({ length: 480 }, (_, i) =>
  new Date(Date.UTC(2026, 0, 5) + i * 3_600_000).toISOString().slice(0, 16).replace('T', ' '),
);
const hour = (i: number) => i % 24;
const used = (i: number) => 0.4 + (i % 7) * 0.1 + (hour(i) > 17 ? 1 : 0);
const sold = (i: number) => (hour(i) > 10 && hour(i) < 15 ? 0.9 : 0);
/** Night and weekends on the last register, the morning on the first. */
const windowOf = (i: number, registers: number) =>
  hour(i) < 7 || hour(i) >= 23 || i % 168 >= 120 ? registers - 1 : hour(i) < 14 ? 0 : registers - 2;

type Value = (i: number) => number;
const registers = (names: readonly string[], value: Value): [string, Value][] =>
  names.map((name, n) => [name, (i) => (windowOf(i, names.length) === n ? value(i) : 0)]);
/** A file of columns, of the energy of each interval or of running totals. */
function fileOf(columns: readonly (readonly [string, Value])[], running = false): string {
  const stands = columns.map((_, c) => 1000 + 137 * c);
  return table(
    `Datum;${columns.map(([name]) => name).join(';')}`,
    LABELS.map((label, i) =>
      [
        label,
        ...columns.map(([, value], c) => {
          if (!running) return value(i).toFixed(3);
          stands[c]! += value(i);
          return (stands[c]! - value(i)).toFixed(3);
        }),
      ].join(';'),
    ),
  );
}
const sumOf = (value: Value, until = LABELS.length) => LABELS.slice(0, until).reduce((sum, _, i) => sum + value(i), 0);
const totals = (text: string) => {
  const { series, findings } = read(text, { unit: 'kWh' });
  const total = (values?: Float64Array) => values?.reduce((sum, kwh) => sum + (kwh || 0), 0);
  return {
    import: total(series?.importKwh),
    export: total(series?.exportKwh),
    errors: findings.filter(({ severity }) => severity === 'error').map(({ code }) => code),
  };
};

const ONE_WAY = [
  ['Afname dal (kWh)', 'Afname normaal (kWh)'],
  ['Verbruik daltarief (kWh)', 'Verbruik normaaltarief (kWh)'],
  ['Levering laagtarief', 'Levering normaaltarief'],
  ['Verbruik tarief 1', 'Verbruik tarief 2'],
  ['Verbruik piek', 'Verbruik dal', 'Verbruik superdal'],
  ['Bezug NT (kWh)', 'Bezug HT (kWh)'],
  ['Nachtstrom kWh', 'Tagstrom kWh'],
  ['Schwachlast kWh', 'Hochlast kWh'],
  ['Consommation HC (kWh)', 'Consommation HP (kWh)'],
  ['Conso heures creuses', 'Conso heures pleines'],
  ['Consumo F1', 'Consumo F2', 'Consumo F3'],
  ['F1 (kWh)', 'F2 (kWh)', 'F3 (kWh)'],
  ['Prelievo fascia F1', 'Prelievo fascia F2', 'Prelievo fascia F3'],
  ['Consumo F1', 'Consumo F23'],
  ['Consumo P1', 'Consumo P2', 'Consumo P3'],
  ['P1 (kWh)', 'P2 (kWh)', 'P3 (kWh)'],
  ['Consumo periodo P1', 'Consumo periodo P2', 'Consumo periodo P3'],
  ['Punta (kWh)', 'Llano (kWh)', 'Valle (kWh)'],
  ['Consumo en punta', 'Consumo en llano', 'Consumo en valle'],
  ['Horas punta kWh', 'Horas llano kWh', 'Horas valle kWh'],
];

describe('registers of one direction', () => {
  test.each(ONE_WAY.map((names) => [names.join(' | '), names] as const))('are added: %s', (_, names) => {
    const { errors, ...of } = totals(fileOf(registers(names, used)));
    expect(errors).toEqual([]);
    expect(of.import).toBeCloseTo(sumOf(used), 6);
    expect(of.export).toBeUndefined();
    // Running totals: the last row begins an interval that no other ends.
    expect(totals(fileOf(registers(names, used), true)).import).toBeCloseTo(sumOf(used, LABELS.length - 1), 6);
    // The total beside them is the same energy once more.
    expect(totals(fileOf([...registers(names, used), ['Total kWh', used]])).import).toBeCloseTo(sumOf(used), 6);
  });

  test.each([
    [
      ['Afname dal', 'Afname normaal'],
      ['Teruglevering dal', 'Teruglevering normaal'],
    ],
    [
      ['Stand verbruik dal', 'Stand verbruik piek'],
      ['Stand teruglevering dal', 'Stand teruglevering piek'],
    ],
    [
      ['Bezug NT', 'Bezug HT'],
      ['Einspeisung NT', 'Einspeisung HT'],
    ],
    [
      ['Soutirage HC', 'Soutirage HP'],
      ['Injection HC', 'Injection HP'],
    ],
    [
      ['Prelievo F1', 'Prelievo F2', 'Prelievo F3'],
      ['Immissione F1', 'Immissione F2', 'Immissione F3'],
    ],
    [
      ['Consumo P1', 'Consumo P2', 'Consumo P3'],
      ['Excedentes P1', 'Excedentes P2', 'Excedentes P3'],
    ],
  ])('each way apart: %j, %j', (bought, back) => {
    const of = totals(fileOf([...registers(bought, used), ...registers(back, sold)], bought[0]!.startsWith('Stand')));
    const until = bought[0]!.startsWith('Stand') ? LABELS.length - 1 : LABELS.length;
    expect(of.errors).toEqual([]);
    expect(of.import).toBeCloseTo(sumOf(used, until), 6);
    expect(of.export).toBeCloseTo(sumOf(sold, until), 6);
  });
});

test.each([
  ['no word of what they measure', ['Dal', 'Normaal']],
  ['bare hours: one of them was read alone', ['Hora punta', 'Hora llano', 'Hora valle']],
  ['bare numbers', ['F1', 'F2', 'F3']],
  ['bare periods', ['P1', 'P2', 'P3']],
  ['words and numbers', ['Punta (P1)', 'Llano (P2)', 'Valle (P3)']],
])('asked about: %s; the answer that is printed reads all of them', (_, names) => {
  const text = fileOf(registers(names, used));
  expect(totals(text).errors).toEqual(['columns-unclear']);
  const { code, data } = read(text, { unit: 'kWh' }).findings[0]!;
  const { hint } = cureOf(code, 'meter.csv', data);
  const columns = names.map((_, c) => c + 2);
  expect(hint).toContain(`columns: { import: [${columns.join(', ')}] }`);
  const { series } = read(text, { unit: 'kWh', columns: { import: columns } });
  expect(series!.importKwh!.reduce((sum, kwh) => sum + kwh, 0)).toBeCloseTo(sumOf(used), 6);
});

test('numbers of circuits or phases, which run together, are asked about', () => {
  for (const name of ['P', 'F', 'Consumo P', 'Energy P', 'Consumo F']) {
    const phases = [1, 2, 3].map((n): [string, Value] => [
      `${name}${n}${name.length === 1 ? ' (kWh)' : ''}`,
      (i) => used(i) / n,
    ]);
    expect([name, ...totals(fileOf(phases)).errors]).toEqual([name, 'columns-unclear']);
    expect([name, ...totals(fileOf(phases, true)).errors]).toEqual([name, 'columns-unclear']);
  }
});
