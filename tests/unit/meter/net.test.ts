// A net beside what it is made of is never added to it.
import { describe, expect, test } from 'vitest';
import { errors, HOURS, read, table, total } from '../../support/meter-tables.ts';

/** An hour's load, kWh: never zero. */
const used = (i: number) => 0.5 + (i % 5) * 0.1;
/** An hour's sun, kWh: from 9 to 15 h, above the load at noon. */
const made = (i: number) => Math.max(0, 2 - Math.abs((i % 24) - 12) * 0.5);
const net = (i: number) => used(i) - made(i);
const sum = (value: (i: number) => number) => HOURS.reduce((kwh, _, i) => kwh + value(i), 0);
const bought = (i: number) => Math.max(0, net(i));
const sold = (i: number) => Math.max(0, -net(i));

type Value = (i: number) => number;
const rows = (kinds: Record<string, Value>) =>
  table(
    'Start,Type,kWh',
    HOURS.flatMap((label, i) =>
      Object.entries(kinds).map(([kind, value]) => `${label},${kind},${value(i).toFixed(3)}`),
    ),
  );
const columns = (kinds: Record<string, Value>) =>
  table(
    `Start,${Object.keys(kinds)
      .map((kind) => `${kind} kWh`)
      .join(',')}`,
    HOURS.map((label, i) => [label, ...Object.values(kinds).map((value) => value(i).toFixed(3))].join(',')),
  );
const codes = (text: string) =>
  read(text)
    .findings.map(({ code }) => code)
    .filter((code) => code !== 'coarse-steps');

describe('a net beside its parts', () => {
  test.each([
    ['rows', rows],
    ['columns', columns],
  ])('%s of use, generation and net: the net is left out, by either sign', (_, file) => {
    for (const sign of [1, -1]) {
      const text = file({ Consumption: used, Generation: made, Net: (i) => sign * net(i) });
      expect(codes(text)).toEqual(['net-redundant']);
      expect(total(text, 'load')).toBeCloseTo(sum(used), 6);
      expect(total(text, 'solar')).toBeCloseTo(sum(made), 6);
      expect(read(text).series!.importKwh).toBeUndefined();
    }
  });

  test('rows of import, export and net: as before', () => {
    const text = rows({ Import: bought, Export: sold, Net: net });
    expect(codes(text)).toEqual(['net-redundant']);
    expect(total(text, 'import')).toBeCloseTo(sum(bought), 6);
    expect(total(text, 'export')).toBeCloseTo(sum(sold), 6);
  });

  test('a net in kWh beside its parts in Wh is seen to be theirs', () => {
    const wh = (value: Value) => (i: number) => Math.round(1000 * value(i));
    const text = (names: string, ...parts: readonly Value[]) =>
      table(
        `Start,${names},Net kWh`,
        HOURS.map((label, i) => [label, ...parts.map((part) => wh(part)(i)), net(i).toFixed(3)].join(',')),
      );
    const whole = text('Consumption Wh,Generation Wh', used, made);
    expect(codes(whole)).toEqual(['net-redundant']);
    expect(total(whole, 'load')).toBeCloseTo(sum(used), 6);
    const side = text('Import Wh', bought);
    expect(codes(side)).toEqual(['alternative-left']);
    expect(total(side, 'import')).toBeCloseTo(sum(bought), 6);
  });

  test('one side of the net beside it is left out: the net tells both', () => {
    for (const beside of [{ Import: bought }, { Export: sold }] as Record<string, Value>[]) {
      const text = rows({ ...beside, Net: net });
      expect(codes(text)).toEqual(['alternative-left']);
      expect(total(text, 'import')).toBeCloseTo(sum(bought), 6);
      expect(total(text, 'export')).toBeCloseTo(sum(sold), 6);
    }
  });

  test('a net that isn’t of what stands beside it is a question, and each of its answers works', () => {
    const text = rows({ Usage: used, Net: net });
    const asked = read(text);
    expect(asked.series).toBeUndefined();
    expect(asked.findings).toMatchObject([{ code: 'parts-unclear', severity: 'error', lines: [2, 3], count: 2 }]);
    expect(asked.findings[0]!.message).toContain('one is a net');
    expect(total(text, 'import', { rows: { Usage: 'ignore' } })).toBeCloseTo(sum(bought), 6);
    expect(total(text, 'import', { rows: { Net: 'ignore' } })).toBeCloseTo(sum(used), 6);
    const told = { rows: { Usage: 'load' } } as const;
    expect(total(text, 'load', told)).toBeCloseTo(sum(used), 6);
    expect(total(text, 'import', told)).toBeCloseTo(sum(bought), 6);
    expect(total(text, 'import', { repeats: 'first' })).toBeCloseTo(sum(used), 6);
    expect(total(text, 'import', { repeats: 'last' })).toBeCloseTo(sum(bought), 6);
    expect(total(text, 'import', { repeats: 'add' })).toBeCloseTo(sum(used) + sum(bought), 6);
    const apart = columns({ Import: used, Net: net });
    expect(errors(apart)).toEqual(['parts-unclear']);
    expect(total(apart, 'import', { columns: { net: 3 } })).toBeCloseTo(sum(bought), 6);
  });
});

describe('"consumption" beside "generation"', () => {
  const twice = (kinds: Record<string, Value>) => [rows(kinds), columns(kinds)] as const;

  test('is load beside solar where the home uses something whenever the sun shines', () => {
    for (const text of twice({ Consumption: used, Generation: made })) {
      expect(errors(text)).toEqual([]);
      expect(total(text, 'load')).toBeCloseTo(sum(used), 6);
    }
  });

  test('is asked about where it is 0 as long as something is generated: a meter at the grid has import and export', () => {
    const [asRows, asColumns] = twice({ Consumption: bought, Generation: sold });
    expect(read(asRows).findings).toMatchObject([{ code: 'rows-unclear', severity: 'error', lines: [2, 3] }]);
    const told = { rows: { Consumption: 'import', Generation: 'export' } } as const;
    expect(total(asRows, 'import', told)).toBeCloseTo(sum(bought), 6);
    expect(total(asRows, 'export', told)).toBeCloseTo(sum(sold), 6);
    const kept = { rows: { Consumption: 'load', Generation: 'solar' } } as const;
    expect(total(asRows, 'load', kept)).toBeCloseTo(sum(bought), 6);
    expect(errors(asColumns)).toEqual(['columns-unclear']);
    expect(total(asColumns, 'export', { columns: { import: 2, export: 3 } })).toBeCloseTo(sum(sold), 6);
    expect(total(asColumns, 'solar', { columns: { load: 2, solar: 3 } })).toBeCloseTo(sum(sold), 6);
  });

  test('and with a net beside them too', () => {
    for (const text of twice({ Consumption: bought, Generation: sold, Net: net }))
      expect(errors(text)).toEqual([text.includes('Type') ? 'rows-unclear' : 'columns-unclear']);
  });
});

test('a net that never falls below zero in a fortnight is told: its signs may be lost', () => {
  const labels = Array.from({ length: 400 }, (_, i) =>
    new Date(Date.UTC(2026, 0, 5) + i * 3_600_000).toISOString().slice(0, 16).replace('T', ' '),
  );
  const of = (name: string, hours: number, value: Value) =>
    codes(
      table(
        `Start,${name}`,
        labels.slice(0, hours).map((label, i) => `${label},${value(i).toFixed(3)}`),
      ),
    );
  const unsigned = (i: number) => Math.abs(net(i) - 0.001);
  expect(of('Net kWh', 400, unsigned)).toContain('net-one-way');
  expect(of('Net kWh', 300, unsigned)).not.toContain('net-one-way');
  expect(of('Net kWh', 400, net)).not.toContain('net-one-way');
  expect(of('Usage kWh', 400, unsigned)).not.toContain('net-one-way');
});
