// A total that a file prints of its rows is held against them. Layouts are invented; what a sum is, is arithmetic.
import { describe, expect, test } from 'vitest';
import { errors, HOURS, read, table } from '../../support/meter-tables.ts';

const use = (i: number) => 0.5 + (i % 5) * 0.1;
const sum = HOURS.reduce((kwh, _, i) => kwh + use(i), 0);
const rows = HOURS.map((label, i) => `${label},${use(i).toFixed(3)}`);
const withTotal = (header: string, row: string) => table(header, [...rows, row]);
/** The same in half-hours of as much power: half the energy a row. */
const HALVES = HOURS.slice(0, 84).flatMap((label, i) => [
  `${label},${use(i).toFixed(3)}`,
  `${label.slice(0, 14)}30,${use(i).toFixed(3)}`,
]);
const halvesSum = HALVES.reduce((all, row) => all + Number(row.split(',')[1]), 0);
const found = (text: string, options = {}) =>
  read(text, options).findings.find(({ code }) => code === 'totals-differ' || code === 'totals-unit');

test('a total that is the sum of its rows is evidence, in whatever unit it prints', () => {
  for (const [header, row] of [
    ['Start,Usage kWh', `Total,${sum.toFixed(3)}`],
    ['Start,Usage Wh', `Total (Wh),${sum.toFixed(3)}`],
    ['Start,Usage kWh', `Summe,${(sum * 1000).toFixed(0)} Wh`],
    ['Start,Usage kW', `Total (kWh),${sum.toFixed(3)}`],
  ] as const) {
    const { findings, layout } = read(withTotal(header, row), { unit: 'kWh' });
    const stated = header.includes(' Wh') ? read(withTotal(header, row), {}).layout : layout;
    expect(findings.map(({ code }) => code)).toContain('totals-row');
    expect(stated.evidence.join('\n')).toMatch(/the total on line 170 is the sum of its rows/);
    expect(found(withTotal(header, row), header.includes(' Wh') ? {} : { unit: 'kWh' })).toBeUndefined();
  }
});

test('a total that fits in another unit is a question with both figures, which --unit answers', () => {
  const powerLabel = table('Start,Usage (kW)', [...HALVES, `Total (kWh),${halvesSum.toFixed(3)}`]);
  expect(errors(powerLabel)).toEqual(['totals-unit']);
  expect(found(powerLabel)?.data).toMatchObject({ unit: 'kW', totalUnit: 'kWh', others: ['kWh'] });
  expect(found(powerLabel, { unit: 'kWh' })).toBeUndefined();
  const energyLabel = table('Start,Usage kWh', [...HALVES, `Total,${(halvesSum / 2).toFixed(3)}`]);
  expect(errors(energyLabel)).toEqual(['totals-unit']);
  const { totalKwh, readKwh, others } = found(energyLabel)!.data as Record<string, unknown>;
  expect([totalKwh, others]).toEqual([Number((halvesSum / 2).toFixed(3)), ['kW']]);
  expect(readKwh).toBeCloseTo(halvesSum, 6);
  expect(found(energyLabel, { unit: 'kW' })).toBeUndefined();
  // The stated unit is the file's own, and the total goes on contradicting it.
  expect(found(energyLabel, { unit: 'kWh' })).toMatchObject({ code: 'totals-differ', data: { withheld: true } });
});

test('a total of more than its rows is told with both figures, and withheld from a twentieth on', () => {
  const off = found(withTotal('Start,Usage kWh', `Total,${(sum * 1.25).toFixed(3)}`))!;
  expect(off).toMatchObject({ code: 'totals-differ', severity: 'warning', lines: [170], data: { withheld: true } });
  const { totalKwh, readKwh, share } = off.data as Record<string, number>;
  expect(totalKwh).toBeCloseTo(sum * 1.25, 2);
  expect(readKwh).toBeCloseTo(sum, 6);
  expect(share).toBeCloseTo(0.2, 3);
  const little = withTotal('Start,Usage kWh', `Total,${(sum * 1.02).toFixed(3)}`);
  expect(found(little)?.data).toMatchObject({ withheld: false });
  // What was billed is what is read: the total is of something else.
  const text = withTotal('Start,Usage kWh', `Total,${(sum * 1.25).toFixed(3)}`);
  expect(found(text, { billedKwh: sum })?.data).toMatchObject({ withheld: false });
});

test('totals of days, of the last days, of other channels and of anything but energy are not accused', () => {
  const day = (from: number, days: number) => {
    let kwh = 0;
    for (let i = from * 24; i < (from + days) * 24; i++) kwh += use(i);
    return kwh.toFixed(3);
  };
  const ofDays = rows.flatMap((row, i) => (i % 24 === 23 ? [row, `Total of day,${day((i - 23) / 24, 1)}`] : [row]));
  const plain = [
    table('Start,Usage kWh', ofDays),
    table('Start,Usage kWh', [...ofDays, `Total,${sum.toFixed(3)}`]),
    table('Start,Usage kWh', [...rows, `Total of period,${day(4, 3)}`]),
    withTotal('Start,Usage kWh', 'Total days,7'),
    withTotal('Start,Usage kWh', 'Total amount due,41.20'),
    withTotal('Start,Usage kWh', 'Average,0.7'),
    withTotal('Start,Usage kWh', 'Maximum,0.9'),
  ];
  for (const text of plain) expect(found(text)).toBeUndefined();
  const sent = (i: number) => (i % 24 > 9 && i % 24 < 16 ? 0.8 : 0);
  const allSent = HOURS.reduce((kwh, _, i) => kwh + sent(i), 0);
  const both = (total: string) =>
    table('Start,Import kWh,Export kWh', [...rows.map((row, i) => `${row},${sent(i).toFixed(3)}`), total]);
  for (const kwh of [sum + allSent, sum - allSent])
    expect(found(both(`Total,${kwh.toFixed(3)},${allSent.toFixed(3)}`))).toBeUndefined();
  const exchanged = found(both(`Total,${sum.toFixed(3)},${(allSent * 2).toFixed(3)}`));
  expect(exchanged?.data).toMatchObject({ column: 'column 3 "Export kWh"', withheld: true });
});

test('a table of days × quarter-hours holds its totals of days, and of columns, against its rows', () => {
  const clock = (k: number) => `${String(Math.floor(k / 4)).padStart(2, '0')}:${String((k % 4) * 15).padStart(2, '0')}`;
  const steps = Array.from({ length: 96 }, (_, k) => k);
  const value = (d: number, k: number) => 0.2 + ((d + k) % 5) * 0.1;
  const days = Array.from({ length: 14 }, (_, d) => d);
  const dayOf = (d: number) => steps.reduce((all, k) => all + value(d, k), 0);
  const ofColumn = (k: number) => days.reduce((all, d) => all + value(d, k), 0);
  const wide = (times: number | undefined, below: number | undefined, name = 'Total') =>
    table(`Date,${steps.map((k) => `kWh ${clock(k)}`).join(',')}${times === undefined ? '' : `,${name}`}`, [
      ...days.map((d) => {
        const cells = steps.map((k) => value(d, k).toFixed(3)).join(',');
        return `2026-01-${String(5 + d).padStart(2, '0')},${cells}${times === undefined ? '' : `,${(dayOf(d) * times).toFixed(3)}`}`;
      }),
      ...(below === undefined ? [] : [`Total,${steps.map((k) => (ofColumn(k) * below).toFixed(3)).join(',')}`]),
    ]);
  for (const text of [wide(1, undefined), wide(undefined, 1), wide(1, 1, 'Summe')]) {
    expect([...errors(text), found(text)]).toEqual([undefined]);
    expect(read(text).layout.evidence.join()).toContain('is the sum of its rows');
  }
  // A quarter of the sum: the values are kW.
  for (const text of [wide(0.25, undefined), wide(undefined, 0.25), wide(0.25, 0.25, 'Tagessumme')]) {
    expect(errors(text)).toEqual(['totals-unit']);
    expect(found(text)?.data).toMatchObject({ others: ['kW'] });
    expect(found(text, { unit: 'kW' })).toBeUndefined();
  }
  expect(found(wide(1.2, undefined))).toMatchObject({ code: 'totals-differ', data: { withheld: true } });
});

test('an account number in a row that names itself a total is none: it isn’t set beside the rows, nor printed', () => {
  expect(found(withTotal('Start,Usage kWh', 'Total account,7788990011'))).toBeUndefined();
  expect(found(withTotal('Start,Usage kWh', `Total,${(sum * 900).toFixed(3)}`))).toMatchObject({
    code: 'totals-differ',
  });
});

test.each(['Summe', 'Tagessumme', 'Total', 'total du jour', 'Somme', 'Totaal', 'Suma', 'Totale', 'Somma'])(
  'the sum of each day with "%s" in place of its time is left out once, and held against its day',
  (word) => {
    const dayRows = (off: number) =>
      Array.from({ length: 7 }, (_, day) => {
        const own = HOURS.slice(24 * day, 24 * day + 24);
        const kwh = own.reduce((all, _label, h) => all + use(24 * day + h), 0);
        const date = own[0]!.slice(0, 10).split('-').reverse().join('.');
        return [
          ...own.map(
            (label, h) =>
              `${date};${label.slice(11)};${use(24 * day + h)
                .toFixed(3)
                .replace('.', ',')}`,
          ),
          `${date};${word};${(kwh * (day === 3 ? off : 1)).toFixed(3).replace('.', ',')}`,
        ];
      }).flat();
    const text = (off = 1) => table('Datum;Zeit;Bezug (kWh)', dayRows(off));
    const { findings, series, layout } = read(text());
    const codes = findings.map(({ code }) => code);
    expect(codes).not.toContain('unreadable-row');
    expect(findings.filter(({ code }) => code === 'totals-row')).toMatchObject([{ severity: 'note', count: 7 }]);
    expect(series!.importKwh!.reduce((all, kwh) => all + kwh, 0)).toBeCloseTo(sum, 6);
    expect(layout.evidence.join('\n')).toMatch(/the total on line 26 is the sum of its rows/);
    expect(found(text())).toBeUndefined();
    // One day that doesn't hold what its sum says.
    expect(found(text(1.5))).toMatchObject({ code: 'totals-differ', lines: [101] });
  },
);

describe('a row of each date without a time', () => {
  const number = (kwh: number) => kwh.toFixed(3).replace('.', ',');
  /** Seven days of hours by one end of them, with a row of so many times their sum above or below. */
  const text = ({ at = 'start', above = true, times = 1, off = 1, column = 'Bezug (kWh)' }) => {
    const days = Array.from({ length: 7 }, (_, day) => {
      const own = HOURS.slice(24 * day, 24 * day + 24);
      const dateOf = (label: string) => label.slice(0, 10).split('-').reverse().join('.');
      const kwh = own.reduce((all, _label, h) => all + use(24 * day + h), 0);
      const row = `${dateOf(own[0]!)};;${number(kwh * times * (day === 3 ? off : 1))}`;
      const rowsOf = own.map((label, h) => {
        const end = new Date(Date.parse(`${label}Z`) + (at === 'end' ? 3_600_000 : 0)).toISOString();
        return `${dateOf(end)};${end.slice(11, 16)};${number(use(24 * day + h))}`;
      });
      return above ? [row, ...rowsOf] : [...rowsOf, row];
    });
    return table(`Datum;Zeit;${column}`, days.flat());
  };

  test.each([{}, { above: false }, { at: 'end' }, { at: 'end', above: false }])(
    'is left out where it is the sum of its day, and that is said: %j',
    (how) => {
      const { findings, series } = read(text(how));
      expect(findings.filter(({ severity }) => severity !== 'note').map(({ code }) => code)).toEqual(['coarse-steps']);
      expect(findings.filter(({ code }) => code === 'totals-row')).toMatchObject([
        { severity: 'note', count: 7, data: { why: 'date-without-time' } },
      ]);
      expect(series!.importKwh!.reduce((all, kwh) => all + kwh, 0)).toBeCloseTo(sum, 6);
    },
  );

  test('is held against its day', () => {
    expect(found(text({}))).toBeUndefined();
    expect(found(text({ off: 1.5 }))).toMatchObject({ code: 'totals-differ', lines: [77] });
  });

  test('cannot be read where it is something else', () => {
    for (const how of [{ times: 1.1 }, { times: 1 / 24 }]) {
      const { findings } = read(text(how));
      expect(findings.find(({ code }) => code === 'unreadable-row')).toMatchObject({ severity: 'warning', count: 7 });
      expect(findings.map(({ code }) => code)).not.toContain('totals-row');
    }
    // Where most rows of a file are so, it isn't read.
    const most = HOURS.map(
      (label, i) => `${label.slice(0, 10)},${i % 3 === 0 ? label.slice(11) : ''},${number(use(i))}`,
    );
    expect(
      errors(
        table(
          'Date,Time,Usage kWh',
          most.map((row) => row.replace(/,(\d+)$/, '.$1')),
        ),
      ),
    ).toContain('mostly-unreadable');
    // Of few rows one may be as much as the other by chance.
    const few = table(
      'Datum;Zeit;Bezug (kWh)',
      HOURS.filter((_, i) => i % 8 === 0).flatMap((label, i) => {
        const date = label.slice(0, 10).split('-').reverse().join('.');
        return [`${date};${label.slice(11)};0,5`, ...(i % 3 === 2 ? [`${date};;1,5`] : [])];
      }),
    );
    expect(read(few).findings.map(({ code }) => code)).toContain('unreadable-row');
  });
});
