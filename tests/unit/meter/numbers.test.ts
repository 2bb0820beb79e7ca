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
    for (const names of ['Stand HT;Stand NT', 'HP index;HC index', 'Bezug;Netzbezug'])
      expect([['columns-unclear'], ['parts-unclear']]).toContainEqual(errors(text(names)));
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

describe('the mark before decimals', () => {
  const sum = HOURS.reduce((kwh, _, i) => kwh + use(i), 0);
  /** Whole Wh, thousands parted by a mark. */
  const grouped = (mark: string) => (i: number) =>
    String(Math.round(1500 * use(i))).replace(/(\d)(\d{3})$/, `$1${mark}$2`);
  const file = (delimiter: string, name: string, cell: (i: number) => string) =>
    table(
      `Start${delimiter}${name}`,
      HOURS.map((label, i) => `${label}${delimiter}${cell(i)}`),
    );
  const wh = HOURS.reduce((all, _, i) => all + Math.round(1500 * use(i)), 0);

  test('a point that three digits always follow, beside whole numbers, parts thousands or decimals: a question', () => {
    for (const delimiter of [',', ';', '\t'])
      for (const name of ['Import Wh', 'Import']) {
        const text = file(delimiter, name, grouped('.'));
        const asked = read(text);
        expect(asked.series).toBeUndefined();
        expect(asked.findings).toMatchObject([{ code: 'decimal-unclear', severity: 'error' }]);
        expect(asked.findings[0]!.message).toContain('thousands (175900 in all)');
        expect(total(text, 'import', { decimal: ',', unit: 'Wh' })).toBeCloseTo(wh / 1000, 6);
        expect(total(text, 'import', { decimal: '.', unit: 'Wh' })).toBeLessThan(wh / 2000);
      }
  });

  test('what each answer would give is a number, whatever a damaged cell holds', () => {
    for (const damaged of ['1e308', '9'.repeat(400)]) {
      const cells = (i: number) => (i % 7 === 0 ? damaged : grouped('.')(i));
      const asked = read(file(',', 'Import Wh', cells));
      const unclear = asked.findings.find(({ code }) => code === 'decimal-unclear');
      expect(unclear?.data.sumIfThousands, damaged).toBeGreaterThan(1000);
      expect(unclear?.data.sumIfThousands, damaged).toBeLessThan(1e7);
    }
  });

  test('also where the first of them stands beyond the sample that the file is recognised by', () => {
    const rows = Array.from({ length: 1000 }, (_, i) => {
      const label = new Date(Date.UTC(2026, 0, 5) + i * 900_000).toISOString().slice(0, 16).replace('T', ' ');
      return `${label},${i < 900 ? 700 + (i % 7) : '1.234'}`;
    });
    expect(errors(table('Start,Import Wh', rows))).toEqual(['decimal-unclear']);
    expect(
      errors(
        table(
          'Start,Import Wh',
          rows.map((row) => row.replace('1.234', '"1,234"')),
        ),
      ),
    ).toEqual([]);
  });

  test('in a row a day', () => {
    const heads = Array.from({ length: 24 }, (_, h) => `${String(h).padStart(2, '0')}:00`);
    const days = Array.from({ length: 7 }, (_, d) =>
      [HOURS[d * 24]!.slice(0, 10), ...heads.map((_, h) => grouped('.')(d * 24 + h))].join(';'),
    );
    const text = table(`Date;${heads.join(';')}`, days);
    expect(errors(text, { unit: 'Wh' })).toEqual(['decimal-unclear']);
    expect(total(text, 'import', { unit: 'Wh', decimal: ',' })).toBeCloseTo(wh / 1000, 6);
  });

  test('decimals of three digits are no question where one of them shows it', () => {
    for (const text of [
      file(',', 'Import kWh', (i) => use(i).toFixed(3)),
      file(';', 'Import kWh', (i) => comma(use(i))),
      file(',', 'Import kWh', (i) => (i % 3 === 0 ? '1' : i === 4 ? '1.25' : '1.125')),
    ])
      expect(errors(text)).toEqual([]);
    expect(
      total(
        file(',', 'Import kWh', (i) => use(i).toFixed(3)),
        'import',
      ),
    ).toBeCloseTo(sum, 6);
  });

  test('points in some rows and commas in others are named, with the line of the fewer', () => {
    const text = file(';', 'Import kWh', (i) => (i < 100 ? comma(use(i)) : use(i).toFixed(2)));
    const { findings, series } = read(text);
    expect(series).toBeUndefined();
    expect(findings[0]).toMatchObject({ code: 'decimal-mixed', severity: 'error', count: 68 });
    expect(findings[0]!.lines![0]).toBe(102);
    expect(findings[0]!.quoted).toEqual({ cell: `"${use(100).toFixed(2)}"`, line: 102 });
  });

  test('no thousands begin with a zero', () => {
    expect(
      errors(
        file(';', 'Import kWh', () => '0,780'),
        { decimal: '.' },
      ),
    ).toEqual(['no-readings']);
    expect(
      total(
        file(';', 'Import kWh', () => '0.780'),
        'import',
        { decimal: ',' },
      ),
    ).toBeCloseTo(168 * 0.78, 6);
  });
});

describe('hours that are counted', () => {
  const file = (name: string, first: number) =>
    table(
      `Fecha;${name};Import kWh`,
      HOURS.map((label, i) => `${label.slice(0, 10)};${(i % 24) + first};${comma(use(i))}`),
    );

  test('from 1 to 24 or from 0 to 23 beside the date are read, whatever the column is called', () => {
    for (const first of [0, 1]) {
      const { series } = read(file('Hora', first));
      expect(series!.axis.startEpochMs).toBe(Date.UTC(2026, 0, 5, 7));
      expect(series!.axis.intervals).toBe(168);
      expect(series!.importKwh![1]).toBeCloseTo(use(1), 9);
    }
  });

  test('numbers that do not count on through each date are no hours', () => {
    const text = file('Grado', 1).replace(';7;', ';9;');
    expect(errors(text)).toEqual(['no-interval-data']);
  });
});
