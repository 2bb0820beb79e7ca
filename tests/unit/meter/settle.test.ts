import { makeAxis } from '@duskbank/core/axis';
import { InputError } from '@duskbank/core/input';
import type { IntervalSeries } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { settleChannels } from '../../../packages/core/src/meter/home/settle.ts';
import { unmade } from '../../support/facts.ts';
import { seeded } from '../../support/homes.ts';

type Column = 'import' | 'export' | 'load' | 'solar';
type Values = Partial<Record<Column, Float64Array>>;

const DAYS = 60;
const axis = makeAxis({ startEpochMs: Date.UTC(2026, 4, 1), stepMinutes: 30, intervals: 48 * DAYS, zone: 'Etc/UTC' });
const settle = (columns: Values, more: Partial<IntervalSeries> = {}) => {
  const series = Object.fromEntries(Object.entries(columns).map(([name, values]) => [`${name}Kwh`, values]));
  return settleChannels({ axis, ...series, ...more } as IntervalSeries);
};
const sum = (values: Float64Array) => values.reduce((total, value) => total + value, 0);
const wh = (kwh: number) => Math.round(kwh * 1000) / 1000;

/** Sixty days of an invented home in whole Wh: evenings, and sun from 6 to 18 h under changing cloud. */
const home = (() => {
  const random = seeded(11);
  const at = (i: number) => (i % 48) / 2;
  const load = new Float64Array(axis.intervals);
  const solar = new Float64Array(axis.intervals);
  for (let i = 0; i < axis.intervals; i++) {
    load[i] = wh(0.1 + 0.9 * Math.exp(-(((at(i) - 19) / 2) ** 2)) * random() + 0.5 * random() ** 4);
    solar[i] = wh(1.5 * Math.max(0, Math.sin(((at(i) - 6) / 12) * Math.PI)) * (0.2 + 0.8 * random()));
  }
  const net = load.map((kwh, i) => wh(kwh - solar[i]!));
  return { load, solar, import: net.map((kwh) => Math.max(0, kwh)), export: net.map((kwh) => Math.max(0, -kwh)) };
})();
const pick = (...names: Column[]): Values => Object.fromEntries(names.map((name) => [name, home[name]]));

/** Columns that the home's meters may have, and what is known from them. */
const KNOWN: [columns: Column[], load: Column, solar: Column | 'none', export_: Column | 'none', known: boolean][] = [
  [['import', 'export', 'solar'], 'load', 'solar', 'export', true],
  [['import', 'export', 'solar', 'load'], 'load', 'solar', 'export', true],
  [['import', 'export', 'load'], 'load', 'solar', 'export', true],
  [['import', 'solar', 'load'], 'load', 'solar', 'export', true],
  [['export', 'solar', 'load'], 'load', 'solar', 'export', true],
  [['solar', 'load'], 'load', 'solar', 'export', true],
  [['import', 'export'], 'import', 'export', 'export', false],
  [['import'], 'import', 'none', 'none', true],
  [['load'], 'load', 'none', 'none', true],
];

describe('every combination of channels has one answer', () => {
  test.each(KNOWN)('%j: load is %s, solar %s, export %s', (columns, load, solar, sold, known) => {
    const settled = settle(pick(...columns));
    const none = new Float64Array(axis.intervals);
    const close = (a: Float64Array, b: Float64Array) => a.every((kwh, i) => Math.abs(kwh - b[i]!) < 1e-9);
    expect(close(settled.loadKwh, home[load])).toBe(true);
    expect(close(settled.solarKwh, solar === 'none' ? none : home[solar])).toBe(true);
    expect(close(settled.exportKwh, sold === 'none' ? none : home[sold])).toBe(true);
    // Load alone is bought whole; else what was bought is what the meter said.
    expect(close(settled.importKwh, columns.length === 1 ? home[columns[0]!] : home.import)).toBe(true);
    expect(settled.loadKnown).toBe(known);
    expect(settled.doubt).toBeUndefined();
    const balance = (i: number) =>
      settled.loadKwh[i]! - settled.solarKwh[i]! - settled.importKwh[i]! + settled.exportKwh[i]!;
    for (let i = 0; i < axis.intervals; i++) expect(Math.abs(balance(i))).toBeLessThan(1e-9);
    // One of the two directions is reckoned where it isn't metered and the other is, and that is told.
    const missing = columns.includes('import') !== columns.includes('export') && columns.length === 3;
    const codes = settled.warnings.map(({ code }) => code);
    expect(unmade(settled.warnings)).toEqual([]);
    expect(codes).toEqual([
      ...(missing ? [columns.includes('import') ? 'export-reckoned' : 'import-reckoned'] : []),
      // Load beside import and export tells the sun.
      ...(columns.length === 3 && !columns.includes('solar') ? ['solar-reckoned'] : []),
      ...(known ? [] : ['load-unknown']),
    ]);
  });

  test.each<[string, Column[]]>([
    ['solar alone', ['solar']],
    ['export without import', ['export']],
    ['export and solar without import', ['export', 'solar']],
    ['export and load without import or solar', ['export', 'load']],
    ['import and solar without export', ['import', 'solar']],
  ])('%s leaves open what was bought or sold, and is refused', (received, columns) => {
    expect(() => settle(pick(...columns))).toThrow(InputError);
    expect(() => settle(pick(...columns))).toThrow(`received ${received};`);
  });

  test('a channel that is 0 throughout raises no question that it doesn’t answer', () => {
    const zero = new Float64Array(axis.intervals);
    expect(settle({ load: home.load, export: zero }).importKwh).toEqual(home.load);
    expect(settle({ import: home.import, solar: zero }).loadKwh).toEqual(home.import);
    // Nothing sold, metered: what the array gave was all used.
    expect(sum(settle({ import: home.import, export: zero, solar: home.solar }).loadKwh)).toBeCloseTo(
      sum(home.import) + sum(home.solar),
      6,
    );
  });

  test('both directions within one interval stay apart, and are netted between load and solar', () => {
    const sold = home.export.map((kwh, i) => (i % 7 === 0 ? kwh + 0.05 : kwh));
    const bought = home.import.map((kwh, i) => (i % 7 === 0 ? kwh + 0.05 : kwh));
    const settled = settle({ ...home, import: bought, export: sold });
    expect(settled.importKwh).toEqual(bought);
    expect(settled.bothWaysKwh).toBeCloseTo(0.05 * Math.ceil(axis.intervals / 7), 9);
    expect(sum(settled.loadKwh)).toBeCloseTo(sum(home.load), 6);
    expect(settled.warnings).toEqual([]);
  });
});

const late = (values: Float64Array, steps: number) => values.map((kwh, i) => values[i - steps] ?? kwh);
const times = (values: Float64Array, factor: number) => values.map((kwh) => kwh * factor);
const pulses = (values: Float64Array, step: number) => {
  let all = 0;
  let counted = 0;
  return values.map((kwh) => {
    all += kwh;
    const now = Math.floor(all / step + 1e-9);
    const reading = (now - counted) * step;
    counted = now;
    return reading;
  });
};

describe('a load column beside the meter checks it', () => {
  test.each<[string, Values, RegExp]>([
    ['solar counted in load', { load: home.load.map((kwh, i) => kwh + home.solar[i]!) }, /solar is counted inside/],
    ['solar counted once', { solar: times(home.solar, 0.5) }, /the solar column holds half/],
    ['solar left out of load', { load: home.import }, /only what came from the grid/],
    [
      'solar reversed',
      { load: home.load.map((kwh, i) => Math.max(0, kwh - 2 * home.solar[i]!)) },
      /its transformer is reversed/,
    ],
    ['solar on another scale', { solar: times(home.solar, 0.8) }, /solar column is on another scale: 1.25 times/],
    ['load on another scale', { load: times(home.load, 0.4) }, /load column is on another scale: 2.5 times/],
    [
      'one leg metered',
      { import: times(home.import, 0.5), export: times(home.export, 0.5) },
      /import and export are on another scale: 2 times/,
    ],
    ['grid exchanged', { import: home.export, export: home.import }, /import and export are exchanged/],
    ['load a step late', { load: late(home.load, 1) }, /clock of the load column is 30 minutes late/],
    ['load two hours early', { load: late(home.load, -4) }, /clock of the load column is 120 minutes early/],
    ['solar an hour late', { solar: late(home.solar, 2) }, /clock of the solar column is 60 minutes late/],
    [
      'the meter an hour late',
      { import: late(home.import, 2), export: late(home.export, 2) },
      /clock of the meter’s import and export is 60 minutes late/,
    ],
    ['an empty load column', { load: new Float64Array(axis.intervals) }, /load column is 0 throughout/],
  ])('%s: savings are withheld, with the amount and the cause', (_, changed, cause) => {
    const columns = { ...home, ...changed };
    const settled = settle(columns);
    const told = settled.warnings.filter(({ code }) => code === 'balance');
    expect(told).toHaveLength(1);
    expect(told[0]!.message).toMatch(/^savings are withheld: import, export, load and solar contradict each other by /);
    expect(told[0]!.message).toMatch(cause);
    expect(settled.doubt).toMatch(/contradict each other by [\d,.]+ kWh, [\d.]+ % of the load$/);
    // The meter stands.
    expect(settled.importKwh).toEqual(columns.import);
    expect(settled.exportKwh).toEqual(columns.export);
  });

  test('the amount is what the columns miss each other by', () => {
    const { doubt } = settle({ ...home, load: home.load.map((kwh) => kwh + 0.1) });
    // 0.1 kWh in each of 2,880 intervals; readings in whole Wh may hide up to 0.002 of it, their sum doesn't.
    expect(doubt).toContain(' by 288 kWh, ');
  });

  test('above 1 % it is told, above 5 % savings are withheld; a month of its own may be told', () => {
    const codes = (factor: number, only?: number) => {
      const load = home.load.map((kwh, i) =>
        only === undefined || axis.calendar.month[i] === only ? kwh * factor : kwh,
      );
      const { warnings, doubt } = settle({ ...home, load });
      return [warnings.map(({ code }) => code).join(), doubt === undefined];
    };
    expect(codes(1)).toEqual(['', true]);
    expect(codes(1.008)).toEqual(['', true]);
    expect(codes(1.012)).toEqual(['balance', true]);
    expect(codes(1.045)).toEqual(['balance', true]);
    expect(codes(1.055)).toEqual(['balance', false]);
    expect(codes(1.015, 5)).toEqual(['balance', true]);
  });

  test('what rounding makes of readings is no contradiction, be they coarse', () => {
    const every = (change: (values: Float64Array) => Float64Array) =>
      settle(Object.fromEntries(Object.entries(home).map(([name, values]) => [name, change(values)])));
    expect(every((values) => values.map((kwh) => Math.round(kwh * 50) / 50)).warnings).toEqual([]);
    expect(every((values) => pulses(values, 0.1)).warnings).toEqual([]);
    // Half of the load is no rounding, as coarse as the meter may be.
    const coarse = Object.fromEntries(Object.entries(home).map(([name, values]) => [name, pulses(values, 0.1)]));
    expect(settle({ ...coarse, load: pulses(times(home.load, 0.5), 0.1) }).doubt).toBeDefined();
  });

  test('intervals with estimates are left out', () => {
    const estimated = Uint8Array.from({ length: axis.intervals }, (_, i) => (i < 96 ? 2 : 0));
    const load = home.load.map((kwh, i) => (i < 96 ? kwh + 3 : kwh));
    expect(settle({ ...home, load }).doubt).toBeDefined();
    expect(settle({ ...home, load }, { estimated }).warnings).toEqual([]);
  });

  test.each<[string, Values, RegExp]>([
    ['import beside the load of a home with sun', { import: home.import, load: home.load }, /solar that is not among/],
    [
      'import beside half of the load',
      { import: home.import, load: times(home.import, 0.5) },
      /another scale: 2 times/,
    ],
    [
      'no solar column, and load that the dark cannot explain',
      { import: home.import, export: home.export, load: times(home.load, 2) },
      /load column is on another scale: 0.5 times/,
    ],
    [
      'no export column, and solar counted in load',
      { import: home.import, solar: home.solar, load: home.load.map((kwh, i) => kwh + home.solar[i]!) },
      /solar is counted inside/,
    ],
    [
      'no import column, and load that would be bought while solar is sold',
      { export: home.export, solar: home.solar, load: times(home.load, 2) },
      /not the load column/,
    ],
  ])('%s: withheld', (_, columns, words) => {
    const settled = settle(columns);
    expect(settled.doubt).toBeDefined();
    expect(settled.warnings.find(({ code }) => code === 'balance')!.message).toMatch(words);
    expect(unmade(settled.warnings)).toEqual([]);
    if (columns.solar === undefined) expect(settled.loadKnown).toBe(false);
  });

  test('where load is what the sun is reckoned from, the dark alone checks it', () => {
    const { load, import: bought, export: sold } = home;
    const tenth = settle({ import: bought, export: sold, load: times(load, 1.1) });
    const balance = tenth.warnings.find(({ code }) => code === 'balance')!;
    // A tenth of the load from 23 to 3 o'clock, not a tenth of that of three hours against the load of all 24.
    expect((balance.data as { share: number }).share).toBeCloseTo(0.1, 2);
    expect(balance.message).toMatch(/in the dark, where no sun explains it, 10(\.\d)? % of the load there/);
    expect(tenth.doubt).toBeDefined();
    // As without the column.
    const alone = settle({ import: bought, export: sold });
    expect(tenth.solarKwh).toEqual(alone.solarKwh);
    expect(tenth.loadKwh).toEqual(alone.loadKwh);
    // A little too much is told and used: of the sun it is all that is known.
    const little = settle({ import: bought, export: sold, load: times(load, 1.03) });
    expect(little.warnings.map(({ code }) => code)).toEqual(['balance', 'solar-reckoned']);
    expect(little.doubt).toBeUndefined();
    expect(little.loadKnown).toBe(true);
  });

  test('sun that is used whole is told from a column that is only a little off', () => {
    const zero = new Float64Array(axis.intervals);
    const used = home.solar.map((kwh, i) => Math.min(kwh, home.load[i]!));
    const bought = home.load.map((kwh, i) => kwh - used[i]!);
    const sunny = settle({ import: bought, export: zero, load: home.load });
    expect(sum(sunny.solarKwh)).toBeCloseTo(sum(used), 6);
    expect(sunny.warnings.map(({ code }) => code)).toEqual(['solar-reckoned']);
    const dull = settle({ import: home.load, export: zero, load: times(home.load, 1.03) });
    expect(sum(dull.solarKwh)).toBe(0);
    expect(dull.loadKwh).toEqual(home.load);
    expect(dull.warnings.map(({ code }) => code)).toEqual(['balance']);
  });

  test('the same load column as import is no contradiction', () => {
    const settled = settle({ import: home.load, load: home.load });
    expect(settled).toMatchObject({ loadKnown: true, warnings: [], doubt: undefined });
  });
});
