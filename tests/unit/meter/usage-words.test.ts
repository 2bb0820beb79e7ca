// Files whose headers say "Usage" of what may be several things: each hint, followed as printed, leads to the true energy or to no saving.
import { InputError, type InputIssue } from '@duskbank/core/input';
import { loadSite } from '@duskbank/core/site';
import { describe, expect, test } from 'vitest';
import { settleChannels } from '../../../packages/core/src/meter/inside.ts';
import { readerOf } from '../../support/panel/index.ts';

const TARIFF = {
  format: 'duskbank.tariff/1',
  name: 'One price',
  currency: 'USD',
  energy: [{ name: 'All', pricePerKwh: 0.2 }],
};
const HOURS = 40 * 24;
/** Invented: what the home uses, what its panels give, and a boiler from 1 to 4 h, kWh of hour `i`. */
const used = (i: number) => 0.4 + 0.5 * Math.abs(Math.sin(i / 3.7)) + ((i * 7919) % 13) / 100;
const given = (i: number) => Math.max(0, 2.5 * Math.sin((((i % 24) - 6) / 12) * Math.PI)) * (1 - ((i * 31) % 7) / 20);
const boiler = (i: number) => (i % 24 >= 1 && i % 24 < 4 ? 1.2 : 0);
const bought = (i: number) => Math.max(0, used(i) - given(i));
const sold = (i: number) => Math.max(0, given(i) - used(i));

function file(header: string, ...columns: ((i: number) => number)[]): string {
  const rows = Array.from({ length: HOURS }, (_, i) => {
    const start = new Date(Date.UTC(2024, 4, 1) + i * 3600e3).toISOString().slice(0, 16).replace('T', ' ');
    return [start, ...columns.map((each) => each(i).toFixed(3))].join(',');
  });
  return [header, ...rows].join('\n');
}

const sum = (value: (i: number) => number) =>
  Array.from({ length: HOURS }, (_, i) => Number(value(i).toFixed(3))).reduce((total, each) => total + each, 0);

type Entry = string | Readonly<Record<string, unknown>>;

async function load(entries: readonly Entry[], files: Readonly<Record<string, string>>) {
  const site = {
    format: 'duskbank.site/1',
    name: 'Alder Row',
    zone: 'America/Denver',
    meter: { files: entries },
    tariff: 'tariff.json',
  };
  const all = { ...files, 'site.json': JSON.stringify(site), 'tariff.json': JSON.stringify(TARIFF) };
  const loaded = await loadSite('site.json', readerOf(all));
  const channels = settleChannels(loaded.pastOf(loaded.tariffs[0]!).series);
  const total = (kwh: Float64Array | undefined) => kwh?.reduce((all, each) => all + each, 0);
  return { importKwh: total(channels.importKwh), exportKwh: total(channels.exportKwh) };
}

async function refused(entries: readonly Entry[], files: Readonly<Record<string, string>>): Promise<InputIssue> {
  const error = await load(entries, files).then(
    () => undefined,
    (thrown: unknown) => thrown,
  );
  expect(error).toBeInstanceOf(InputError);
  return (error as InputError).issues[0]!;
}

describe('a controlled load in a file of its own, headed "Usage"', () => {
  const files = {
    'general.csv': file('Start,Usage kWh,Feed in kWh', bought, sold),
    'own.csv': file('Start,Usage kWh', boiler),
  };

  test('first of all the hint offers to add it, which makes the bill whole', async () => {
    const { code, hint } = await refused(['general.csv', 'own.csv'], files);
    expect(code).toBe('overlap-contradicts');
    expect(hint).toMatch(/^[^{]*\{ path: …, repeats: add \}/);
    const home = await load(['general.csv', { path: 'own.csv', repeats: 'add' }], files);
    expect(home.importKwh).toBeCloseTo(sum(bought) + sum(boiler), 6);
    expect(home.exportKwh).toBeCloseTo(sum(sold), 6);
  });

  test('whichever of the two stands first', async () => {
    const home = await load([{ path: 'own.csv', repeats: 'add' }, 'general.csv'], files);
    expect(home.importKwh).toBeCloseTo(sum(bought) + sum(boiler), 6);
  });

  test('a file that adds readings of its own is not added to another by the same word', async () => {
    const twice = { ...files, 'own.csv': files['own.csv'].replace(/\n.*/g, (row) => `${row}${row}`) };
    const { code } = await refused(['general.csv', { path: 'own.csv', repeats: 'add' }], twice);
    expect(code).toBe('overlap-contradicts');
  });
});

describe('two files headed "Usage", one of which holds what was sold', () => {
  const files = { 'in.csv': file('Start,Usage kWh', bought), 'out.csv': file('Start,Usage kWh', sold) };

  test('the hint offers first that it is export, which gives the true flows', async () => {
    const { code, hint } = await refused(['in.csv', 'out.csv'], files);
    expect(code).toBe('solar-shaped');
    expect(hint).toMatch(/^[^{]*\{ path: …, channel: export \}/);
    const home = await load(['in.csv', { path: 'out.csv', channel: 'export' }], files);
    expect(home.importKwh).toBeCloseTo(sum(bought), 6);
    expect(home.exportKwh).toBeCloseTo(sum(sold), 6);
  });
});

describe('one file with columns Usage and Generation', () => {
  test.each([
    {
      holds: 'bought and sold',
      columns: [bought, sold],
      word: 'columns: { import: …, export: … }',
      stated: { import: 2, export: 3 },
    },
    {
      holds: 'used and given',
      columns: [used, given],
      word: 'columns: { load: …, solar: … }',
      stated: { load: 2, solar: 3 },
    },
  ])('of what was $holds: the hint’s first words lead to the true flows', async ({ columns, word, stated }) => {
    const files = { 'both.csv': file('Start,Usage kWh,Generation kWh', ...columns) };
    const { code, hint } = await refused(['both.csv'], files);
    expect(code).toBe('missing-channel');
    expect(hint!.indexOf(word)).toBe(hint!.indexOf('columns:'));
    expect(hint!.indexOf(word)).toBeLessThan(hint!.indexOf('add the export column'));
    const home = await load([{ path: 'both.csv', columns: stated }], files);
    expect(home.importKwh).toBeCloseTo(sum(bought), 0);
    expect(home.exportKwh).toBeCloseTo(sum(sold), 0);
  });

  test('of what was bought and given: the export is asked for first', async () => {
    const files = {
      'both.csv': file('Start,Usage kWh,Generation kWh', bought, given),
      'out.csv': file('Start,Export kWh', sold),
    };
    const { hint } = await refused(['both.csv'], files);
    expect(hint).toMatch(/^where they are what was bought and what panels gave, add the export column/);
    expect(hint).not.toContain('load: …');
    const home = await load(['both.csv', 'out.csv'], files);
    expect(home.importKwh).toBeCloseTo(sum(bought), 6);
    expect(home.exportKwh).toBeCloseTo(sum(sold), 6);
  });
});
