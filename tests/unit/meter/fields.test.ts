// Rows whose fields don't fit their header are refused with their lines: a value under another name is a wrong answer.
import { describe, expect, test } from 'vitest';
import { HOURS, read, table, total } from '../../support/meter-tables.ts';

const use = (i: number) => 0.5 + (i % 5) * 0.1;
const sum = HOURS.reduce((kwh, _, i) => kwh + use(i), 0);
const comma = (value: number) => value.toFixed(3).replace('.', ',');
const refused = (text: string) => {
  const { series, findings } = read(text);
  expect(series).toBeUndefined();
  return findings.filter(({ severity }) => severity === 'error');
};

describe('rows whose fields do not fit the header', () => {
  test('decimal commas between commas are recognised, in every row or in some, with one value or with two', () => {
    const all = table(
      'Start,Import kWh',
      HOURS.map((label, i) => `${label},${comma(use(i))}`),
    );
    expect(refused(all)).toMatchObject([{ code: 'fields-differ', data: { why: 'decimal-comma' }, count: 168 }]);
    const some = table(
      'Start,Import kWh',
      HOURS.map((label, i) => `${label},${i < 100 ? use(i) : comma(use(i))}`),
    );
    expect(refused(some)).toMatchObject([{ code: 'fields-differ', count: 68 }]);
    expect(refused(some)[0]!.lines![0]).toBe(102);
    const two = table(
      'Start,Import kWh,Export kWh',
      HOURS.map((label, i) => `${label},${comma(use(i))},0,000`),
    );
    expect(refused(two)[0]!.data).toEqual({ why: 'decimal-comma', fields: 3 });
    // In quotation marks, or between semicolons, they are read.
    const quoted = table(
      'Start,Import kWh',
      HOURS.map((label, i) => `${label},"${comma(use(i))}"`),
    );
    expect(total(quoted, 'import')).toBeCloseTo(sum, 6);
    expect(total(all.replaceAll(/(Start|:00),/g, '$1;'), 'import')).toBeCloseTo(sum, 6);
  });

  const row = (i: number) => `${HOURS[i]},${use(i).toFixed(2)},0.2,0.1`;
  const rows = (odd: (row: string) => string) =>
    table(
      'Start,Import kWh,Export kWh,Solar kWh',
      HOURS.map((_, i) => (i === 50 ? odd(row(i)) : row(i))),
    );

  test('one field too many or too few, in a single row', () => {
    expect(refused(rows((text) => text.replace(',0.2', ',7,0.2')))).toMatchObject([
      { code: 'fields-differ', data: { why: 'more', fields: 4 }, lines: [52], count: 1 },
    ]);
    expect(refused(rows((text) => text.replace(',0.2', '')))).toMatchObject([
      { code: 'fields-differ', data: { why: 'fewer', fields: 4 }, lines: [52], count: 1 },
    ]);
  });

  test('an empty field at the end, a note there, and a last name that is missing throughout move nothing', () => {
    for (const text of [
      rows((text) => `${text},`),
      rows((text) => `${text},estimated`),
      table(
        'Start,Import kWh',
        HOURS.map((label, i) => `${label},${use(i).toFixed(2)},12`),
      ),
      table(
        'Start,Import kWh,Notes',
        HOURS.map((label, i) => `${label},${use(i).toFixed(2)}${i === 3 ? ',checked' : ''}`),
      ),
    ])
      expect(total(text, 'import')).toBeCloseTo(sum, 6);
  });

  test('a row a day', () => {
    const heads = Array.from({ length: 24 }, (_, h) => `${String(h).padStart(2, '0')}:00`);
    const days = (sign: (value: number) => string) =>
      table(
        `Date,${heads.join(',')}`,
        Array.from(
          { length: 7 },
          (_, d) => `${HOURS[d * 24]!.slice(0, 10)},${heads.map((_, h) => sign(use(d * 24 + h))).join(',')}`,
        ),
      );
    expect(total(days(String), 'import', { unit: 'kWh' })).toBeCloseTo(sum, 6);
    expect(refused(days(comma))[0]).toMatchObject({ code: 'fields-differ', count: 7 });
  });
});
