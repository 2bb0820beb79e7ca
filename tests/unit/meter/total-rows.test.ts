import { describe, expect, test } from 'vitest';
import { parseIntervalData } from '../../../packages/core/src/meter/index.ts';

const HOURS = 24 * 20;
const kwh = (i: number) => Number((0.4 + 0.5 * Math.abs(Math.sin(i / 3.7)) + ((i * 7919) % 13) / 100).toFixed(3));
const sumKwh = Array.from({ length: HOURS }, (_, i) => kwh(i)).reduce((a, b) => a + b, 0);
const start = (i: number) =>
  new Date(Date.UTC(2024, 0, 1) + i * 3_600_000).toISOString().slice(0, 16).replace('T', ' ');

/** Rows of each register an hour: the first by night, the others in turn, a last one of all where it is named. */
function long(registers: readonly string[], header = 'Register', total?: (i: number) => number, name = 'Total') {
  const lines = [`Start,${header},kWh`];
  for (let i = 0; i < HOURS; i++) {
    const counts = i % 24 < 7 ? 0 : 1 + (i % (registers.length - 1));
    for (const [k, register] of registers.entries()) lines.push(`${start(i)},${register},${k === counts ? kwh(i) : 0}`);
    if (total !== undefined) lines.push(`${start(i)},${name},${total(i).toFixed(3)}`);
  }
  return `${lines.join('\n')}\n`;
}

/** A row a day for each register, and one of their total. */
function wide() {
  const lines = [`Date,Register,${Array.from({ length: 24 }, (_, h) => `${String(h).padStart(2, '0')}:00`).join(',')}`];
  for (let day = 0; day < HOURS / 24; day++)
    for (const name of ['Peak', 'Off-peak', 'Total']) {
      const cells = Array.from({ length: 24 }, (_, h) =>
        name === 'Total' || (name === 'Peak') === h >= 7 ? kwh(24 * day + h) : 0,
      );
      lines.push(`${start(24 * day).slice(0, 10)},${name},${cells.join(',')}`);
    }
  return `${lines.join('\n')}\n`;
}

const OPTIONS = { zone: 'America/Phoenix', unit: 'kWh', serviceKw: 100 } as const;
function read(text: string, options: Parameters<typeof parseIntervalData>[1] = {}) {
  const { series, findings } = parseIntervalData(text, { ...OPTIONS, ...options });
  const importKwh = series?.importKwh?.reduce((a, b) => a + b, 0);
  return { importKwh, findings, codes: findings.map(({ code }) => code) };
}

describe('a kind of rows that is named a total', () => {
  const text = long(['Off-peak', 'Peak'], 'Register', kwh);

  test('counts once: it is the sum of the others and left out', () => {
    const { importKwh, findings } = read(text);
    expect(importKwh).toBeCloseTo(sumKwh, 6);
    expect(findings).toContainEqual(
      expect.objectContaining({
        code: 'alternative-left',
        severity: 'note',
        data: expect.objectContaining({ why: 'total-of-parts', left: expect.objectContaining({ rowText: 'Total' }) }),
      }),
    );
  });

  test.each([
    [{ Total: 'import' }],
    [{ Total: 'ignore' }],
    [{ Peak: 'import', 'Off-peak': 'import', Total: 'import' }],
    [{ Peak: 'ignore', 'Off-peak': 'ignore', Total: 'import' }],
  ] as const)('counts once, whatever is stated: %j', (rows) => {
    expect(read(text, { rows }).importKwh).toBeCloseTo(sumKwh, 6);
  });

  test('in a table of days and hours', () => {
    expect(read(wide()).importKwh).toBeCloseTo(sumKwh, 6);
    expect(read(wide(), { rows: { Total: 'import' } }).importKwh).toBeCloseTo(sumKwh, 6);
  });

  test.each([{}, { rows: { Total: 'import' } }] as const)('is asked about where it isn’t the sum: %j', (options) => {
    const { importKwh, findings } = read(
      long(['Off-peak', 'Peak'], 'Register', (i) => 1.2 * kwh(i)),
      options,
    );
    expect(importKwh).toBeUndefined();
    const [asked] = findings.filter(({ severity }) => severity === 'error');
    expect(asked).toMatchObject({ code: 'parts-unclear', data: { why: 'total-differs' } });
    expect(asked!.message).toContain(`(${Number((1.2 * sumKwh).toPrecision(4))} kWh, from line`);
  });
});

describe('rows of the registers of one meter', () => {
  test.each([
    ['Registre', ['HC', 'HP'], 'Total HP+HC'],
    ['Register', ['NT', 'HT'], 'Summe'],
    ['Fascia', ['F3', 'F1', 'F2'], 'Totale'],
    ['Periodo', ['P3', 'P1', 'P2'], 'Total'],
    ['Periodo', ['Valle', 'Punta', 'Llano'], 'Suma'],
    ['Tarief', ['dal', 'normaal'], 'Totaal'],
  ] as const)('%s: %j are added, with and without %s', (header, registers, name) => {
    expect(read(long(registers, header)).importKwh).toBeCloseTo(sumKwh, 6);
    expect(read(long(registers, header, kwh, name)).importKwh).toBeCloseTo(sumKwh, 6);
  });

  test('a register beside each single reading says which window counts, and parts nothing', () => {
    const lines = Array.from({ length: HOURS }, (_, i) => `${start(i)},F${1 + (i % 3)},${kwh(i)}`);
    expect(read(`Start,Fascia,kWh\n${lines.join('\n')}\n`).importKwh).toBeCloseTo(sumKwh, 6);
  });

  test('numbers alone that run at once are asked about: phases have numbers too', () => {
    const lines = Array.from({ length: HOURS }, (_, i) =>
      ['P1', 'P2', 'P3'].map((phase, k) => `${start(i)},${phase},${(kwh(i + k) / 3).toFixed(3)}`).join('\n'),
    );
    const { importKwh, codes } = read(`Start,Register,kWh\n${lines.join('\n')}\n`);
    expect(importKwh).toBeUndefined();
    expect(codes).toContain('parts-unclear');
  });
});
