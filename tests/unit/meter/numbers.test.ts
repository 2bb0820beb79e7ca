// Numbers are read as what they are, or asked about: registers that look like times, decimal marks, thousands.
import { describe, expect, test } from 'vitest';
import { errors, HOURS, read, table, total } from '../../support/meter-tables.ts';

const use = (i: number) => 0.5 + (i % 5) * 0.1;
/** A register that has counted up to an hour's end, from a start. */
const register = (from: number, value: (i: number) => number) => {
  let kwh = from;
  return HOURS.map((_, i) => {
    kwh += value(i);
    return kwh;
  });
};
const comma = (value: number) => value.toFixed(3).replace('.', ',');

describe('a register beside a column of times', () => {
  // 123,456 kWh look like 12:34:56, 20,000 like 2:00:00, 12,345 like 1:23:45.
  test.each([123_450, 20_000, 12_345, 930])('in decimal commas is no time: from %d kWh', (from) => {
    const first = register(from, use);
    const second = register(from / 2, (i) => use(i) / 10);
    const text = table(
      'Zeit;Import;Export',
      HOURS.map((label, i) => `${label};${comma(first[i]!)};${comma(second[i]!)}`),
    );
    const seen = read(text).findings.filter(({ code }) => code === 'register-differenced');
    expect(seen.length).toBe(2);
    expect(total(text, 'import', { unit: 'kWh' })).toBeCloseTo(first.at(-1)! - first[0]!, 6);
    expect(total(text, 'export', { unit: 'kWh' })).toBeCloseTo(second.at(-1)! - second[0]!, 6);
  });

  test('two of them that only we don’t understand are a question, not one of them', () => {
    const first = register(12_345, use);
    const second = register(5432, use);
    const text = (names: string) =>
      table(
        `Zeit;${names}`,
        HOURS.map((label, i) => `${label};${comma(first[i]!)};${comma(second[i]!)}`),
      );
    for (const names of ['Stand HT;Stand NT', 'HP index;HC index', 'Bezug;Lieferung'])
      expect(errors(text(names))).toEqual(['columns-unclear']);
    const columns = { import: [2, 3] };
    expect(total(text('Stand HT;Stand NT'), 'import', { columns, unit: 'kWh' })).toBeCloseTo(
      first.at(-1)! - first[0]! + second.at(-1)! - second[0]!,
      6,
    );
  });

  test('that runs through numbers such as 20260105 or 1767571200 is no date', () => {
    for (const from of [20_260_105, 1_767_571_200]) {
      const wh = register(from, (i) => Math.round(1000 * use(i)));
      const text = table(
        'Start,Import,Export Wh',
        HOURS.map((label, i) => `${label},${wh[i]},${Math.round(100 * use(i))}`),
      );
      expect(total(text, 'import')).toBeCloseTo((wh.at(-1)! - wh[0]!) / 1000, 6);
    }
  });

  test('times of day without colons are still read', () => {
    const columns = { date: 1, time: 2, import: 3 };
    for (const time of [(h: string) => `${Number(h)}00`, (h: string) => `${h}00`, (h: string) => `${h}0000`]) {
      const text = table(
        'Date,Time,Import kWh',
        HOURS.slice(1).map((label, i) => `${label.slice(0, 10)},${time(label.slice(11, 13))},${use(i).toFixed(3)}`),
      ).replaceAll(',000,', ',0000,');
      expect(total(text, 'import', { columns })).toBeCloseTo(
        HOURS.slice(1).reduce((kwh, _, i) => kwh + use(i), 0),
        6,
      );
    }
  });
});
