// Columns of energy beside the one that is read: the grid in other languages, sums of the day, a second meter, copies; and a
// column whose unit changes on the way. What is left out in silence would be missing from every bill.
import type { ColumnMap } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { cureOf } from '../../../packages/core/src/words/cures.ts';
import { errors, HOURS, read, table, total } from '../../support/meter-tables.ts';

/** What the home buys, sells and uses for heat, kWh an hour. */
const bought = (i: number) => (i % 24 > 8 && i % 24 < 16 ? 0 : 0.2 + (i % 7) * 0.05);
const sold = (i: number) => (i % 24 > 8 && i % 24 < 16 ? 0.9 + (i % 5) * 0.1 : 0);
const heat = (i: number) => (i % 3 === 0 ? 1.5 : 0);
const sum = (of: (i: number) => number) => HOURS.reduce((kwh, _, i) => kwh + of(i), 0);
const rows = (header: string, ...columns: ((i: number) => number)[]) =>
  table(
    header,
    HOURS.map((label, i) => [label, ...columns.map((of) => of(i).toFixed(3))].join(';')),
  );

describe('circuits beside the mains', () => {
  const mains = (i: number) => 0.5 + (i % 7) * 0.1;
  const codes = (names: string, part: (i: number) => number) =>
    read(rows(names, mains, part), { columns: { import: 2 } }).findings.map(({ code }) => code);

  test('are never offered beside it: no step of theirs is above its', () => {
    expect(codes('Start;Mains kWh;Kitchen kWh', (i) => mains(i) * 0.4)).not.toContain('columns-beside');
    expect(codes('Start;Total kWh;Heat pump kWh', (i) => mains(i) * 0.9)).not.toContain('columns-beside');
  });

  test('what is above it in some steps, or is called as it is, may be a second one', () => {
    expect(codes('Start;Mains kWh;Barn kWh', (i) => (i % 9 === 0 ? 2 : 0.1))).toContain('columns-beside');
    expect(codes('Start;Mains L1 kWh;Mains L2 kWh', (i) => mains(i) * 0.4)).toContain('columns-beside');
    expect(codes('Start;Usage kWh;Kitchen kWh', (i) => mains(i) * 0.4)).toContain('columns-beside');
  });
});

describe('import and export beside each other', () => {
  test.each([
    'Forbrug kWh;Levering til net kWh',
    'Forbrug kWh;Levering til nettet kWh',
    'Afname van net kWh;Teruglevering aan net kWh',
    'Verbruik kWh;Levering aan net kWh',
    'Forbruk kWh;Levert til nett kWh',
    'Förbrukning kWh;Produktion till nät kWh',
    'Bezug kWh;Lieferung kWh',
    'Bezug;Lieferung',
    'Bezug kWh;Abgabe kWh',
    'Soutirage kWh;Réinjection kWh',
    'Energia prelevata kWh;Energia ceduta kWh',
    'AE_kWh;AS_KWh',
    'Energy used kWh;Fed back kWh',
  ])('%s', (names) => {
    const text = rows(`Start;${names}`, bought, sold);
    const unit = /kwh/i.test(names) ? {} : { unit: 'kWh' as const };
    expect(total(text, 'import', unit)).toBeCloseTo(sum(bought), 6);
    expect(total(text, 'export', unit)).toBeCloseTo(sum(sold), 6);
  });

  test('a lone delivery is what the home buys, and "net" stays what is netted in English', () => {
    expect(total(rows('Start;Lieferung kWh', bought), 'import')).toBeCloseTo(sum(bought), 6);
    const net = read(rows('Start;Net kWh', (i) => bought(i) - sold(i))).series!;
    expect(net.exportKwh!.reduce((a, b) => a + b, 0)).toBeCloseTo(sum(sold), 6);
  });
});

describe('a column of energy that is not read', () => {
  test.each(['Haushalt kWh;Wärmepumpe kWh', 'Import kWh;Foo kWh', 'Netzbezug kWh;Wirkarbeit kWh'])(
    'is a question where it tells what no other does: %s',
    (names) => {
      const { findings, series } = read(rows(`Start;${names}`, bought, heat));
      const asked = findings.find(({ code }) => code === 'columns-unclear');
      expect(series).toBeUndefined();
      expect(asked?.data).toMatchObject({ why: 'left-over', columns: [{ energyKwh: expect.closeTo(sum(heat), 6) }] });
      const columns = { import: [2, 3] };
      expect(total(rows(`Start;${names}`, bought, heat), 'import', { columns })).toBeCloseTo(
        sum(bought) + sum(heat),
        6,
      );
      expect(total(rows(`Start;${names}`, bought, heat), 'import', { columns: { import: 2 } })).toBeCloseTo(
        sum(bought),
        6,
      );
    },
  );

  test.each<[string, (i: number) => number]>([
    ['nothing', () => 0],
    ['the same again', bought],
    ['the same in Wh', (i) => bought(i) * 1000],
    ['a part of it', (i) => (bought(i) > 0.3 ? bought(i) / 2 : 0)],
    ['import less export', (i) => bought(i) - sold(i)],
    ['import and export together', (i) => bought(i) + sold(i)],
  ])('is left out where it holds %s', (what, third) => {
    const unit = what.endsWith('Wh') ? 'Wh' : 'kWh';
    const text = rows(`Start;Import kWh;Export kWh;Energy ${unit}`, bought, sold, third);
    expect(errors(text)).toEqual([]);
    expect(total(text, 'import')).toBeCloseTo(sum(bought), 6);
    expect(total(text, 'export')).toBeCloseTo(sum(sold), 6);
  });

  test('is not the meter where it sums the day', () => {
    let day = 0;
    const soFar = (i: number) => {
      day = i % 24 === 0 ? bought(i) : day + bought(i);
      return day;
    };
    for (const name of ['Summe Tag', 'Tagessumme', 'Day total', 'Total week'])
      expect(total(rows(`Start;Verbrauch kWh;${name} kWh`, bought, soFar), 'import')).toBeCloseTo(sum(bought), 6);
    // Registers of day and night are parts of one whole.
    expect(total(rows('Start;Total day kWh;Total night kWh', bought, heat), 'import')).toBeCloseTo(
      sum(bought) + sum(heat),
      6,
    );
  });
});

describe('a unit that changes on the way', () => {
  const home = (i: number) => 0.1 + (i % 24 > 17 ? 0.8 : 0) + (i % 7) * 0.03;
  const text = (header: string, factor: (i: number) => number) =>
    table(
      header,
      HOURS.map((label, i) => `${label};${(home(i) * factor(i)).toFixed(3)}`),
    );

  test.each([
    ['Start;Usage kWh', 1000],
    ['Start;Usage Wh', 0.001],
  ])('is asked about: %s × %d', (header, factor) => {
    const { findings, series } = read(text(header, (i) => (header.endsWith(' Wh') ? 1000 : 1) * (i < 96 ? 1 : factor)));
    const asked = findings.find(({ code }) => code === 'unit-changes');
    expect(series).toBeUndefined();
    expect(asked?.data).toMatchObject({ date: '2026-01-09', times: factor });
  });

  test('is no less so where a unit is stated', () => {
    expect(
      errors(
        text('Start;Usage', (i) => (i < 96 ? 1 : 1000)),
        { unit: 'kWh' },
      ),
    ).toEqual(['unit-changes']);
  });

  test('is none where the home is left, or all but left', () => {
    const left = text('Start;Usage kWh', (i) => (i < 96 ? 1 : 0));
    expect(errors(left)).toEqual([]);
    // High readings stay what they were.
    const seldom = table(
      'Start;Usage kWh',
      HOURS.map((label, i) => `${label};${(i < 96 || i % 24 === 19 ? home(i) : 0.001).toFixed(3)}`),
    );
    expect(errors(seldom)).toEqual([]);
  });
});

describe('what rows say beside their values', () => {
  test.each(['Ersatzwert', 'geschätzt', 'estimée', 'estimado', 'stimato', 'geschat'])('"%s" is an estimate', (word) => {
    const text = table(
      'Start;Verbrauch kWh;Status',
      HOURS.map((label, i) => `${label};${bought(i).toFixed(3)};${i < 10 ? word : 'Wahrer Wert'}`),
    );
    const { findings } = read(text);
    expect(findings.find(({ code }) => code === 'estimated-by-source')?.data).toMatchObject({ estimated: 10 });
  });

  test.each(['Gesamtsumme', 'Summe', 'Totaal', 'Somme', 'Total'])('"%s" at the foot is a row of totals', (word) => {
    const codes = read(`${rows('Start;Verbrauch kWh', bought)}${word};99,9\n`).findings.map(({ code }) => code);
    expect(codes).toContain('totals-row');
    expect(codes).not.toContain('row-without-time');
  });
});

describe('one of several columns of a kind', () => {
  const phase = (share: number) => (i: number) => bought(i) * share + (share * (i % 4)) / 10;
  const three = rows('Start;L1 (kWh);L2 (kWh);L3 (kWh)', phase(0.5), phase(0.35), phase(0.2));

  test('the hint names all of them for what adds up', () => {
    const [finding] = read(three).findings;
    expect(cureOf(finding!.code, 'home.csv', finding!.data).hint).toContain('columns: { import: [2, 3, 4] }');
    expect(errors(three, { columns: { import: [2, 3, 4] } })).toEqual([]);
  });

  test('what is left out is told with its kWh', () => {
    const told = (text: string, columns: ColumnMap) =>
      read(text, { columns }).findings.find(({ code }) => code === 'columns-beside');
    expect(told(three, { import: 2 })).toMatchObject({ severity: 'warning', data: { columnNumbers: [2, 3, 4] } });
    expect(told(three, { import: 2 })!.message).toMatch(/column 3 \(23\.\d+ kWh\)/);
    expect(sum(phase(0.35))).toBeCloseTo(23.4, 1);
    // L1 is as much as the other two, and no total of them by its name.
    const even = rows('Start;L1 (kWh);L2 (kWh);L3 (kWh)', phase(0.5), phase(0.3), phase(0.2));
    expect(told(even, { import: 2 })).toMatchObject({ data: { columnNumbers: [2, 3, 4] } });
    const windows = rows('Start;Peak;Off-Peak;Total', phase(0.6), phase(0.4), phase(1));
    expect(told(windows, { import: 3 })).toMatchObject({ data: { columnNumbers: [2, 3] } });
    expect(told(windows, { import: 4 })).toBeUndefined();
    expect(told(three, { import: [2, 3, 4] })).toBeUndefined();
    // A total beside its parts, named alone; and one part of them, whose total isn't to be added.
    const whole = rows('Start;L1 (kWh);L2 (kWh);Total (kWh)', phase(0.6), phase(0.4), phase(1));
    expect(told(whole, { import: 4 })).toBeUndefined();
    expect(told(whole, { import: [2, 3] })).toBeUndefined();
    expect(told(whole, { import: 2 })).toMatchObject({ data: { columnNumbers: [2, 3] } });
  });
});
