// One column of values whose window changes with the hour, and a column that names the window. Registers are invented.
import { ESTIMATED, parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { toldStream } from '../../../packages/core/src/meter/place/told-stream.ts';
import type { Labels } from '../../../packages/core/src/meter/readings.ts';
import { errors, HOURS, read, table, total } from '../../support/meter-tables.ts';

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

test.each([['HT'], ['NT'], ['HT', 'NT']])(
  'rows of %s that the source estimated stay so beside those of the other',
  (...marked) => {
    const rows = HOURS.map(
      (label, i) => `${label},${nameOf(i)},${kwh(i).toFixed(3)},${marked.includes(nameOf(i)) ? 'estimated' : 'actual'}`,
    );
    const { series, findings } = read(table('Start,Tarif,kWh,Quality', rows), { rows: { HT: 'import', NT: 'import' } });
    const wanted = HOURS.map((_, i) => (marked.includes(nameOf(i)) ? ESTIMATED.bySource : 0));
    expect(Array.from(series!.estimated!)).toEqual(wanted);
    expect(findings.find(({ code }) => code === 'estimated-by-source')?.data).toMatchObject({
      estimated: wanted.filter((mark) => mark > 0).length,
    });
  },
);

describe('a column that tells rows of one time apart', () => {
  const sold = (i: number) => (i % 24 > 9 && i % 24 < 16 ? 0.7 : 0);
  const rows = (header: string, names: readonly [string, string, string], onlySold: boolean) =>
    table(
      header,
      HOURS.flatMap((label, i) => [
        `${label},${i % 24 < 6 ? names[1] : names[0]},${kwh(i).toFixed(3)}`,
        ...(onlySold && sold(i) === 0 ? [] : [`${label},${names[2]},${sold(i).toFixed(3)}`]),
      ]),
    );
  const exported = HOURS.reduce((sum, _, i) => sum + sold(i), 0);

  test.each([
    ['Start,Tarif,Bezug kWh', ['HT', 'NT', 'Einspeisung'], false],
    ['Start,Tarif,Bezug kWh', ['HT', 'NT', 'Einspeisung'], true],
    ['Start,Rate,Consumption (kWh)', ['Peak', 'Off-peak', 'Export'], false],
    ['Start,Poste,Consommation kWh', ['HP', 'HC', 'Injection'], true],
    ['Start,Fascia,Prelievo kWh', ['F1', 'F2', 'Immissione'], false],
  ] as const)(
    'is read by its words, with windows that take turns beside what is sold: %s, %j',
    (header, names, only) => {
      const text = rows(header, names, only);
      for (const options of [{}, { repeats: 'add' }] as const) {
        expect(errors(text, options)).toEqual([]);
        expect(total(text, 'import', options)).toBeCloseTo(all, 6);
        expect(total(text, 'export', options)).toBeCloseTo(exported, 6);
      }
    },
  );

  test.each([
    ['Start,Tarief,Verbruik kWh', ['1', '2', 'Teruglevering']],
    ['Start,Foo,kWh', ['Aaa', 'Bbb', 'Ccc']],
  ] as const)('is asked about, and nothing is added by `repeats`: %s', (header, names) => {
    for (const options of [{}, { repeats: 'add' }] as const)
      expect(errors(rows(header, names, false), options)).toEqual(['rows-unclear']);
  });
});

describe('one quantity has one name and one value', () => {
  test('rows that take turns are told together, by all their names', () => {
    const labels = { labelMs: new Float64Array(1), line: Int32Array.of(2), count: 1 } as unknown as Labels;
    const kinds = ['NT', 'HT'].map((text) => ({ shown: `"${text}"`, understood: true }));
    const both = { role: 'import', unit: 'kWh', labels, values: Float64Array.of(all), cumulative: false } as const;
    const stream = { ...both, source: 'column 3', kind: kinds[0]! };
    expect(toldStream(stream)).toMatchObject({ stream: 'rows of "NT"', rowText: 'NT' });
    // No text of one of them stands for both.
    expect(toldStream({ ...stream, kinds })).toMatchObject({ stream: 'rows of "NT" and "HT"', energyKwh: all });
    expect(toldStream({ ...stream, kinds })).not.toHaveProperty('rowText');
  });

  test('a register is asked about with its own energy, though it is as much as another', () => {
    const rows = table(
      'Start,Register,kWh',
      HOURS.flatMap((label, i) =>
        ['F1', 'F2', 'F3'].map((name) => `${label},${name},${(kwh(i) * (name === 'F1' ? 2 : 1)).toFixed(3)}`),
      ),
    );
    const asked = read(rows).findings.find(({ code }) => code === 'parts-unclear');
    expect(asked?.message.match(/\([\d.]+ kWh/g)).toEqual([
      `(${(2 * all).toFixed(1)} kWh`,
      `(${all.toFixed(1)} kWh`,
      `(${all.toFixed(1)} kWh`,
    ]);
  });
});
