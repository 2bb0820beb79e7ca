// Energy that the user's own words leave out of a file is told with its kWh and its share; savings rest on nothing that lacks
// a register of the grid. Registers are invented; what a sum and a share are, is arithmetic.
import type { ParseOptions } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { cureOf } from '../../../packages/core/src/words/cures.ts';
import { errors, HOURS, read, table, total } from '../../support/meter-tables.ts';

const used = (i: number) => 0.5 + (i % 5) * 0.1;
const isNight = (i: number) => i % 24 < 6;
const high = (i: number) => (isNight(i) ? 0 : used(i));
const low = (i: number) => (isNight(i) ? used(i) : 0);
const sum = (of: (i: number) => number) => HOURS.reduce((kwh, _, i) => kwh + of(i), 0);
/** A row for each register of each hour. */
const long = (kinds: Readonly<Record<string, (i: number) => number>>, order = HOURS.map((_, i) => i)) =>
  table(
    'Start,Register,kWh',
    order.flatMap((i) => Object.entries(kinds).map(([name, of]) => `${HOURS[i]},${name},${of(i).toFixed(3)}`)),
  );
const NIGHT = sum(low);
const found = (text: string, options: ParseOptions, code = 'energy-left-out') =>
  read(text, options).findings.filter((finding) => finding.code === code);
const counter = (of: (i: number) => number) => (i: number) =>
  1000 + HOURS.slice(0, i).reduce((kwh, _, k) => kwh + of(k), 0);
const today = (of: (i: number) => number) => (i: number) => {
  let kwh = 0;
  for (let k = i - (i % 24); k <= i; k++) kwh += of(k);
  return kwh;
};

describe('rows', () => {
  test('of a register of the grid that are ignored are told with their kWh, and no savings rest on the rest', () => {
    const [left, ...more] = found(long({ HT: high, NT: low }), { rows: { HT: 'import', NT: 'ignore' } });
    expect(more).toEqual([]);
    expect(left).toMatchObject({ severity: 'warning', count: 168, lines: [3], data: { withheld: true } });
    const { left: told, share } = left!.data as { left: { stream: string; energyKwh: number }[]; share: number };
    expect(told).toEqual([{ stream: 'rows of "NT"', energyKwh: expect.closeTo(NIGHT, 6) }]);
    expect(share).toBeCloseTo(NIGHT / sum(used), 6);
    expect(left!.message).toContain('savings are withheld');
  });

  test.each([
    ['whatever stands for the others', { HT: 'import', '*': 'ignore' }],
    ['the other one', { HT: 'ignore', NT: 'import' }],
  ] as const)('are told too where %s is ignored', (_, rows) => {
    expect(found(long({ HT: high, NT: low }), { rows })).toMatchObject([{ data: { withheld: true } }]);
  });

  test.each([
    ['Bezug HT', 'Bezug NT'],
    ['Netzbezug HT', 'Netzbezug NT'],
    ['Strombezug HT', 'Strombezug NT'],
    ['HT Bezug', 'NT Bezug'],
    ['Bezug Hochtarif', 'Bezug Niedertarif'],
    ['Verbrauch HT', 'Verbrauch NT'],
    ['Bezug T1', 'Bezug T2'],
    ['Prélèvement HP', 'Prélèvement HC'],
    ['Soutirage HP', 'Soutirage HC'],
    ['Afname normaal', 'Afname dal'],
    ['Prelievo F1', 'Prelievo F2'],
    ['Import high', 'Import low'],
    ['Energy import P1', 'Energy import P2'],
  ])('of "%s" and "%s" are registers: both are read, and one that is left out withholds', (day, night) => {
    const text = long({ [day]: high, [night]: low });
    expect(errors(text)).toEqual([]);
    expect(total(text, 'import')).toBeCloseTo(sum(used), 6);
    expect(found(text, { rows: { [day]: 'import', [night]: 'ignore' } })).toMatchObject([{ data: { withheld: true } }]);
  });

  test('of phases with numbers, which count at once, are a question still', () => {
    const text = long({ 'Import P1': used, 'Import P2': (i) => 0.3 + (i % 7) * 0.1 });
    expect(errors(text)).toEqual(['parts-unclear']);
  });

  test('of registers of export are told apart, and withhold as those of import do', () => {
    const names = ['Bezug HT', 'Bezug NT', 'Einspeisung HT', 'Einspeisung NT'] as const;
    const text = long({ [names[0]]: high, [names[1]]: low, [names[2]]: high, [names[3]]: low });
    expect(total(text, 'export')).toBeCloseTo(sum(used), 6);
    const rows = { [names[0]]: 'import', [names[1]]: 'import', [names[2]]: 'export' } as const;
    expect(found(text, { rows: { ...rows, [names[3]]: 'ignore' } })).toMatchObject([
      { data: { withheld: true, share: expect.closeTo(NIGHT / sum(used), 6) } },
    ]);
    expect(found(text, { rows: { ...rows, '*': 'ignore' } })).toMatchObject([{ data: { withheld: true } }]);
    // What was billed is what was bought.
    const billed = found(text, { rows: { ...rows, '*': 'ignore' }, billedKwh: sum(used) });
    expect(billed).toMatchObject([{ data: { role: 'export', withheld: true } }]);
    expect(billed[0]!.message).toContain('take these rows out of the file');
  });

  test('of registers of export are held by a net that is read', () => {
    const text = long({ Net: (i) => low(i) - high(i), 'Import HT': low, 'Export HT': high });
    const rows = { Net: 'net', 'Import HT': 'ignore', 'Export HT': 'ignore' } as const;
    expect(found(text, { rows })).toEqual([]);
  });

  test('of a register are held by the total that is read, and by nothing that is named as its like', () => {
    const kinds = { HT: high, NT: low, Summe: used };
    for (const rows of [
      { HT: 'ignore', NT: 'ignore', Summe: 'import' },
      { Summe: 'import', '*': 'ignore' },
      { Summe: 'ignore', HT: 'import', NT: 'import' },
    ] as NonNullable<ParseOptions['rows']>[]) {
      const { findings, layout, series } = read(long(kinds), { rows });
      expect(findings.map(({ code }) => code)).not.toContain('energy-left-out');
      expect(layout.evidence.join('\n')).toContain('what is read holds rows of');
      expect(series!.importKwh!.reduce((a, b) => a + b, 0)).toBeCloseTo(sum(used), 6);
    }
    // A total that lacks them doesn't hold them.
    const lacking = long({ ...kinds, Summe: high });
    expect(found(lacking, { rows: { HT: 'ignore', NT: 'ignore', Summe: 'import' } })).toMatchObject([
      { data: { withheld: true } },
    ]);
    // A register of the day that is above that of the night in every row is not its total.
    const above = { HT: (i: number) => 2 + used(i), NT: used };
    expect(found(long(above), { rows: { HT: 'import', NT: 'ignore' } })).toMatchObject([{ data: { withheld: true } }]);
  });

  test('of running totals, and of totals that begin anew each day, are told by what they add', () => {
    for (const of of [counter, today]) {
      for (const order of [HOURS.map((_, i) => i), HOURS.map((_, i) => HOURS.length - 1 - i)]) {
        const text = long({ HT: of((i) => high(i) + 0.1), NT: of((i) => low(i) + 0.01) }, order);
        const [left] = found(text, { rows: { HT: 'import', NT: 'ignore' } });
        const [{ energyKwh }] = left!.data!.left as [{ energyKwh: number }];
        expect(energyKwh, `${of.name}, ${order[0]}`).toBeGreaterThan(sum(low) - 0.5);
        expect(energyKwh, `${of.name}, ${order[0]}`).toBeLessThan(sum((i) => low(i) + 0.01) + 0.01);
      }
    }
    const whole = { HT: counter(high), NT: counter(low), Total: counter(used) };
    expect(found(long(whole), { rows: { Total: 'import', HT: 'ignore', NT: 'ignore' } })).toEqual([]);
  });

  test('of a text that says nothing are told and withhold nothing; what is no energy is not told', () => {
    const text = long({ Q7: used, Q8: (i) => (i % 3 === 0 ? 3 : 0.1) });
    expect(found(text, { rows: { Q7: 'import', Q8: 'ignore' } })).toMatchObject([{ data: { withheld: false } }]);
    // A circuit behind what is read.
    expect(found(long({ Q7: used, Q8: (i) => used(i) / 2 }), { rows: { Q7: 'import', Q8: 'ignore' } })).toEqual([]);
    for (const name of ['Temperature', 'kvarh', 'Voltage', 'Gas'])
      expect(found(long({ HT: used, [name]: () => 20 }), { rows: { HT: 'import', [name]: 'ignore' } })).toEqual([]);
  });

  test('of registers that a number alone tells apart withhold where they count one at a time', () => {
    for (const rows of [
      { '1': 'import', '2': 'ignore' },
      { '1': 'import', '*': 'ignore' },
    ] as NonNullable<ParseOptions['rows']>[]) {
      expect(found(long({ '1': high, '2': low }), { rows })).toMatchObject([
        { data: { withheld: true, share: expect.closeTo(NIGHT / sum(used), 6), left: [{ stream: 'rows of "2"' }] } },
      ]);
      // A total that is left out as well is no more energy, and proves it; one that is read holds them.
      expect(found(long({ '1': high, '2': low, Totaal: used }), { rows: { ...rows, Totaal: 'ignore' } })).toMatchObject(
        [{ data: { withheld: true, share: expect.closeTo(NIGHT / sum(used), 6) } }],
      );
      // Two meters, or two phases, run together.
      expect(found(long({ '1': used, '2': (i) => (i % 3 === 0 ? 2 : 0.3) }), { rows })).toMatchObject([
        { data: { withheld: false } },
      ]);
    }
    const rows = { '1': 'ignore', '2': 'ignore', Totaal: 'import' } as const;
    expect(found(long({ '1': high, '2': low, Totaal: used }), { rows })).toEqual([]);
    // Another quantity, that runs by day as the sun does.
    expect(found(long({ Import: low, Solar: high }), { rows: { Import: 'import', Solar: 'ignore' } })).toMatchObject([
      { data: { role: 'solar', withheld: false } },
    ]);
  });

  test('of all that is sold withhold, unless it is hardly anything beside what is bought, or use is read', () => {
    const rows = { Import: 'import', Export: 'ignore' } as const;
    expect(found(long({ Import: low, Export: high }), { rows })).toMatchObject([
      { data: { share: 1, withheld: true } },
    ]);
    const little = (i: number) => (i % 24 === 12 ? 0.05 : 0);
    expect(found(long({ Import: used, Export: little }), { rows })).toMatchObject([{ data: { withheld: false } }]);
    const use = { Import: 'import', Solar: 'solar', Load: 'load', Export: 'ignore' } as const;
    expect(
      found(long({ Import: low, Solar: used, Load: low, Export: high }), { rows: use }).filter(
        ({ data }) => data?.withheld === true,
      ),
    ).toEqual([]);
  });

  test('of export are told apart from what is bought', () => {
    const text = long({ Import: used, Export: low });
    const [left, ...more] = found(text, { rows: { Import: 'import', Export: 'ignore' } });
    expect(more).toEqual([]);
    expect(left).toMatchObject({ severity: 'warning', data: { role: 'export', share: 1, withheld: true } });
  });

  test('withhold nothing where what is read is what was billed, or hardly anything is missing', () => {
    const text = long({ HT: high, NT: low });
    const options = { rows: { HT: 'import', NT: 'ignore' }, billedKwh: sum(high) } as const;
    expect(found(text, options)).toMatchObject([{ data: { withheld: false } }]);
    const little = long({ HT: used, NT: (i) => (i % 24 === 3 ? 0.3 : 0) });
    expect(found(little, { rows: { HT: 'import', NT: 'ignore' } })).toMatchObject([{ data: { withheld: false } }]);
    const none = long({ HT: used, NT: (i) => (i === 3 ? 0.3 : 0) });
    expect(found(none, { rows: { HT: 'import', NT: 'ignore' } })).toEqual([]);
  });

  test('of other meters than the one that is read are not told', () => {
    const rows = HOURS.flatMap((label, i) => [
      `${label},1,HT,${used(i)}`,
      `${label},2,HT,${used(i)}`,
      `${label},2,NT,${used(i)}`,
    ]);
    const text = table('Start,Meter Number,Register,kWh', rows);
    const options = { rows: { HT: 'import', NT: 'ignore' } } as const;
    expect(found(text, { ...options, usagePoint: 1 })).toEqual([]);
    expect(found(text, { ...options, usagePoint: 2 })).toMatchObject([{ data: { withheld: true } }]);
  });

  test('of a row a day are told as those of a row an hour', () => {
    const days = [0, 1, 2, 3, 4, 5, 6];
    const row = (name: string, day: number, of: (i: number) => number) =>
      `${HOURS[24 * day]!.slice(0, 10)},${name},${Array.from({ length: 24 }, (_, k) => of(24 * day + k).toFixed(3)).join(',')}`;
    const file = (kinds: Readonly<Record<string, (i: number) => number>>) =>
      table(
        `Date,Register,${Array.from({ length: 24 }, (_, k) => `${k}:00`).join(',')}`,
        days.flatMap((day) => Object.entries(kinds).map(([name, of]) => row(name, day, of))),
      );
    const [left] = found(file({ HT: high, NT: low }), { unit: 'kWh', rows: { HT: 'import', NT: 'ignore' } });
    expect(left).toMatchObject({ data: { withheld: true, left: [{ energyKwh: expect.closeTo(NIGHT, 6) }] } });
    const rows = { Summe: 'import', HT: 'ignore', NT: 'ignore' } as const;
    expect(found(file({ HT: high, NT: low, Summe: used }), { unit: 'kWh', rows })).toEqual([]);
  });
});

describe('columns', () => {
  const file = (header: string, ...of: ((i: number) => number)[]) =>
    table(
      header,
      HOURS.map((label, i) => `${label},${of.map((each) => each(i).toFixed(3)).join(',')}`),
    );

  test('of registers beside the stated one withhold savings, with their kWh in the unit of the file', () => {
    for (const [header, unit, times] of [
      ['Start,Bezug HT (kWh),Bezug NT (kWh)', undefined, 1],
      ['Start,Bezug HT (Wh),Bezug NT (Wh)', undefined, 1000],
      ['Start,Peak,Off-peak', 'Wh', 1000],
    ] as const) {
      const text = file(
        header,
        (i) => high(i) * times,
        (i) => low(i) * times,
      );
      const options = { columns: { import: 2 }, ...(unit === undefined ? {} : { unit }) };
      const [beside] = found(text, options, 'columns-beside');
      expect(beside?.data, header).toMatchObject({
        withheld: true,
        columns: [{ energyKwh: expect.closeTo(NIGHT, 4) }],
        share: expect.closeTo(NIGHT / sum(used), 4),
      });
      expect(total(text, 'import', options)).toBeCloseTo(sum(high), 4);
    }
  });

  test('of what is sold are told too: beside one that is read, and where none is', () => {
    const text = file('Start,Import kWh,Export peak kWh,Export off-peak kWh', used, high, low);
    for (const [columns, leftKwh, share] of [
      [{ import: 2, export: 3 }, NIGHT, NIGHT / sum(used)],
      [{ import: 2, export: 4 }, sum(high), sum(high) / sum(used)],
      [{ import: 2 }, sum(used), 1],
    ] as const) {
      const [beside, ...more] = found(text, { columns }, 'columns-beside');
      expect(more).toEqual([]);
      expect(beside?.data).toMatchObject({
        role: 'export',
        withheld: true,
        columnNumbers: [3, 4],
        share: expect.closeTo(share, 6),
      });
      const { columns: left } = beside!.data as { columns: { energyKwh: number }[] };
      expect(left.reduce((kwh, { energyKwh }) => kwh + energyKwh, 0)).toBeCloseTo(leftKwh, 6);
      expect(beside!.message).toContain('columns: { export: [3, 4] }');
    }
    expect(found(text, { columns: { import: 2, export: [3, 4] } }, 'columns-beside')).toEqual([]);
    // A net holds what is sold.
    const net = file('Start,Net kWh,Export kWh', (i) => used(i) - low(i), low);
    expect(found(net, { columns: { net: 2 } }, 'columns-beside')).toEqual([]);
  });

  test('that a number alone tells apart withhold where they count one at a time', () => {
    const text = file(
      'Start,Verbruik 1 kWh,Verbruik 2 kWh,Teruglevering 1 kWh,Teruglevering 2 kWh',
      high,
      low,
      high,
      low,
    );
    for (const [columns, role] of [
      [{ import: 2, export: [4, 5] }, 'import'],
      [{ import: 3, export: [4, 5] }, 'import'],
      [{ import: [2, 3], export: 4 }, 'export'],
      [{ import: [2, 3] }, 'export'],
    ] as const)
      expect(found(text, { columns }, 'columns-beside')).toMatchObject([{ data: { role, withheld: true } }]);
    const counters = file('Start,Counter 1 kWh,Counter 2 kWh', counter(high), counter(low));
    expect(found(counters, { columns: { import: 2 } }, 'columns-beside')).toMatchObject([{ data: { withheld: true } }]);
    const phases = file('Start,Verbruik 1 kWh,Verbruik 2 kWh', used, (i) => used(i * 3 + 1));
    expect(found(phases, { columns: { import: 2 } }, 'columns-beside')).toMatchObject([{ data: { withheld: false } }]);
    const total = file('Start,Verbruik kWh,Verbruik 1 kWh,Verbruik 2 kWh', used, high, low);
    expect(found(total, { columns: { import: 2 } }, 'columns-beside')).toEqual([]);
  });

  test('that count one at a time are not offered as one of them being the total', () => {
    const hint = (text: string) => {
      const [asked] = found(text, {}, 'columns-unclear');
      return cureOf(asked!.code, 'home.csv', asked!.data).hint;
    };
    const turns = hint(file('Start,Verbruik 1 kWh,Verbruik 2 kWh', high, low));
    expect(turns).toContain('columns: { import: [2, 3] }');
    expect(turns).not.toContain('the total');
    expect(hint(file('Start,Verbruik 1 kWh,Verbruik 2 kWh', used, high))).toContain('if one of them is the total');
  });

  test('of all that is sold withhold, whatever they are called', () => {
    const text = file('Start,Import kWh,Export kWh', low, high);
    expect(found(text, { columns: { import: 2 } }, 'columns-beside')).toMatchObject([
      { data: { role: 'export', share: 1, withheld: true } },
    ]);
    const little = file('Start,Import kWh,Export kWh', used, (i) => (i % 24 === 12 ? 0.05 : 0));
    expect(found(little, { columns: { import: 2 } }, 'columns-beside')).toMatchObject([{ data: { withheld: false } }]);
  });

  test('beside them a total is no more energy: the share is of what lacks', () => {
    const text = file('Start,Peak kWh,Off-peak kWh,Total kWh', high, low, used);
    const [beside] = found(text, { columns: { import: 2 } }, 'columns-beside');
    expect(beside?.data?.share).toBeCloseTo(NIGHT / sum(used), 4);
    expect(beside?.message).toContain(`${((100 * NIGHT) / sum(used)).toFixed(0)} % of all`);
    const rows = long({ HT: high, NT: low, Summe: used });
    const [left] = found(rows, { rows: { HT: 'import', NT: 'ignore', Summe: 'ignore' } });
    expect(left?.data?.share).toBeCloseTo(NIGHT / sum(used), 4);
  });

  test('withhold nothing where they are phases, or the stated one holds them', () => {
    const phases = file('Start,L1 kWh,L2 kWh', used, (i) => used(i * 3 + 1));
    expect(found(phases, { columns: { import: 2 } }, 'columns-beside')).toMatchObject([{ data: { withheld: false } }]);
    const whole = file('Start,Usage kWh,Peak kWh,Off-peak kWh', used, high, low);
    expect(found(whole, { columns: { import: 2 } }, 'columns-beside')).toEqual([]);
  });
});

describe('repeats', () => {
  const twice = (second: (i: number) => number) =>
    table(
      'Start,Usage kWh',
      HOURS.flatMap((label, i) => [`${label},${high(i).toFixed(3)}`, `${label},${second(i).toFixed(3)}`]),
    );

  test('that are not taken are told with their kWh, and how many of them differ', () => {
    const differing = HOURS.filter((_, i) => high(i) !== low(i)).length;
    for (const [taken, leftKwh] of [
      ['first', NIGHT],
      ['last', sum(high)],
    ] as const) {
      const [left, ...more] = found(twice(low), { repeats: taken }, 'repeats-left');
      expect(more).toEqual([]);
      expect(left).toMatchObject({
        severity: 'warning',
        data: { taken, readings: 168, differing, leftKwh: expect.closeTo(leftKwh, 6) },
      });
    }
    expect(found(twice(low), { repeats: 'add' }, 'repeats-left')).toEqual([]);
    const same = read(twice(high), { repeats: 'first' }).findings.map(({ code }) => code);
    expect(same).toContain('duplicate');
    expect(same).not.toContain('repeats-left');
  });

  test('of other rows of the same times, and of a net beside import, are told too', () => {
    const rows = long({ Usage: used, Consumption: (i) => used(i) * (i % 2 === 0 ? 2 : 1) });
    const [left] = found(rows, { repeats: 'first' }, 'repeats-left');
    expect(left?.data).toMatchObject({ taken: 'first', readings: 168, differing: 84 });
    expect(left?.data?.leftKwh).toBeCloseTo(
      sum((i) => used(i) * (i % 2 === 0 ? 2 : 1)),
      6,
    );
    const net = table(
      'Start,Import (kWh),Net (kWh)',
      HOURS.map((label, i) => `${label},${used(i)},${(used(i + 3) * 1.4).toFixed(3)}`),
    );
    expect(found(net, { repeats: 'first' }, 'repeats-left')).toMatchObject([{ data: { readings: 168 } }]);
  });
});

describe('names', () => {
  test('of registers and totals that `*` leaves out are told each by its own', () => {
    const [left] = found(long({ HT: high, NT: low, Summe: used }), { rows: { HT: 'import', '*': 'ignore' } });
    expect((left!.data as { left: { stream: string }[] }).left.map(({ stream }) => stream)).toEqual([
      'rows of "NT"',
      'rows of "Summe"',
    ]);
  });

  test('a total of what is read and what is left out is called that', () => {
    const rows = { HT: 'import', NT: 'ignore', Summe: 'import' } as const;
    const [asked] = found(long({ HT: high, NT: low, Summe: used }), { rows }, 'parts-unclear');
    expect(asked).toMatchObject({ data: { why: 'total-of-left-out' } });
    expect(asked!.message).not.toContain('isn’t the sum');
  });
});
