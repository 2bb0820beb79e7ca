import { joinSeries, type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { loadSite } from '@duskbank/core/site';
import { describe, expect, test } from 'vitest';

// General usage and a controlled load are two registers of one meter, which are added, also from two files
// (docs/reference/interval-files.md).

const ZONE = 'Australia/Brisbane';
const two = (n: number) => String(n).padStart(2, '0');
/** The same fraction for the same number, without a pattern. */
const dice = (x: number) => {
  const s = Math.sin(x * 127.1) * 43_758.5453;
  return s - Math.floor(s);
};
type Counts = (day: number, hour: number) => number;
const general: Counts = (day, hour) => 0.2 + (hour > 17 && hour < 22 ? 0.9 : 0.1) + 0.1 * dice(day * 24 + hour);
/** Heats at night, and on some afternoons. */
const heater: Counts = (day, hour) => {
  if (hour >= 22 || hour < 7) return dice(day * 31 + hour * 7) < 0.35 ? 1.8 : 0;
  return hour >= 11 && hour < 15 && dice(day * 3 + hour * 11) < 0.2 ? 1.5 : 0;
};
const pump: Counts = (day, hour) => 0.1 * heater(day, hour);
const total: Counts = (day, hour) => general(day, hour) + heater(day, hour);
/** A vehicle that charges whenever the heater runs: its readings alone don't say that it isn't counted with it. */
const vehicle: Counts = (day, hour) => general(day, hour) + 3 * heater(day, hour);

const file = (name: string, counts: Counts, from = 1, to = 28) => {
  const lines = [`Date,${name}`];
  for (let day = from; day <= to; day++)
    for (let hour = 0; hour < 24; hour++)
      lines.push(`2026-03-${two(day)} ${two(hour)}:00,${counts(day, hour).toFixed(3)}`);
  return [...lines, ''].join('\n');
};
const sumOf = (counts: Counts, from = 1, to = 28) => {
  let sum = 0;
  for (let day = from; day <= to; day++)
    for (let hour = 0; hour < 24; hour++) sum += Number(counts(day, hour).toFixed(3));
  return sum;
};
const read = (text: string, options: ParseOptions = {}) =>
  parseIntervalData(text, { zone: ZONE, unit: 'kWh', ...options }).series!;
const kwhOf = (values: Float64Array | undefined) => values?.reduce((sum, kwh) => sum + (kwh || 0), 0);
const gapsOf = (values: Float64Array) => values.filter(Number.isNaN).length;
const codes = ({ findings }: ReturnType<typeof joinSeries>) => findings.map(({ code }) => code);

const site = (contents: Readonly<Record<string, string>>, files: readonly Readonly<Record<string, unknown>>[]) => {
  const all: Record<string, string> = {
    ...contents,
    'tariff.json': JSON.stringify({
      format: 'duskbank.tariff/1',
      name: 'Flat',
      currency: 'AUD',
      windows: [{ name: 'always', otherwise: true, pricePerKwh: 0.3 }],
    }),
    'site.json': JSON.stringify({
      format: 'duskbank.site/1',
      name: 'Home',
      zone: ZONE,
      meter: { files: files.map((each) => ({ unit: 'kWh', ...each })) },
      tariff: 'tariff.json',
    }),
  };
  return loadSite('site.json', (path) => Promise.resolve(new TextEncoder().encode(all[path])));
};

describe('general usage in one file and a controlled load in another', () => {
  const names = ['Controlled load', 'CL', 'CL kWh', 'Off-peak controlled load', 'Controlled load 1 (kWh)'];
  test.each(['Usage', 'General usage', 'Consumption'].flatMap((one) => names.map((other) => [one, other] as const)))(
    'are added, in whichever order they are named: %s, %s',
    (one, other) => {
      const [whole, own] = [read(file(one, general)), read(file(other, heater))];
      for (const both of [
        [whole, own],
        [own, whole],
      ]) {
        const joined = joinSeries(both);
        expect(kwhOf(joined.series?.importKwh)).toBeCloseTo(sumOf(general) + sumOf(heater), 6);
        expect(codes(joined)).toContain('registers-joined');
        expect(joined.series!.parts!.some((part) => part.alone === true)).toBe(false);
      }
    },
  );

  test('are added where the circuit is below all that the general register holds, and that doesn’t move with it', () => {
    const joined = joinSeries([read(file('Usage', general)), read(file('Controlled load', pump))]);
    expect(kwhOf(joined.series?.importKwh)).toBeCloseTo(sumOf(general) + sumOf(pump), 6);
  });

  test.each([
    ['a total', total],
    ['what moves with it all the same', vehicle],
  ] as const)('are asked where the one may hold the other, and both answers work: %s', async (_, counts) => {
    const texts = { 'a.csv': file('Usage', counts), 'b.csv': file('Controlled load', heater) };
    const refused = await site(texts, [{ path: 'a.csv' }, { path: 'b.csv' }]).catch((error) => error);
    expect(refused.issues).toMatchObject([
      {
        code: 'overlap-contradicts',
        data: { beside: ['column 2 "Controlled load"'] },
        hint: expect.stringMatching(/repeats: add \}.*leave its file out/),
      },
    ]);
    const added = await site(texts, [{ path: 'a.csv' }, { path: 'b.csv', repeats: 'add' }]);
    expect(kwhOf(added.case.loadKwh)).toBeCloseTo(sumOf(counts) + sumOf(heater), 6);
    const one = await site(texts, [{ path: 'a.csv' }]);
    expect(kwhOf(one.case.loadKwh)).toBeCloseTo(sumOf(counts), 6);
  });

  test('lead through "add the file" to a study', async () => {
    const texts = { 'a.csv': file('Usage', general), 'b.csv': file('Controlled load', heater) };
    const alone = await site(texts, [{ path: 'b.csv' }]).catch((error) => error);
    expect(alone.issues).toMatchObject([{ code: 'part-alone', hint: expect.stringContaining('add the file') }]);
    const both = await site(texts, [{ path: 'b.csv' }, { path: 'a.csv' }]);
    expect(kwhOf(both.case.loadKwh)).toBeCloseTo(sumOf(general) + sumOf(heater), 6);
  });

  test('are added where a window of prices is said to be one, and asked before', async () => {
    const texts = { 'a.csv': file('Usage', general), 'b.csv': file('Off-peak kWh', heater) };
    const refused = await site(texts, [{ path: 'a.csv' }, { path: 'b.csv' }]).catch((error) => error);
    expect(refused.issues).toMatchObject([{ code: 'overlap-contradicts', data: { beside: [expect.any(String)] } }]);
    const added = await site(texts, [{ path: 'a.csv' }, { path: 'b.csv', repeats: 'add' }]);
    expect(kwhOf(added.case.loadKwh)).toBeCloseTo(sumOf(general) + sumOf(heater), 6);
  });

  test('leave hours that one of them lacks unknown, where each is in files of parts of the time', () => {
    const joined = joinSeries([
      read(file('Usage', general, 1, 14)),
      read(file('Usage', general, 15, 28)),
      read(file('Controlled load', heater, 1, 10)),
      read(file('Controlled load', heater, 11, 21)),
    ]);
    expect(kwhOf(joined.series?.importKwh)).toBeCloseTo(sumOf(general, 1, 21) + sumOf(heater, 1, 21), 6);
    expect(gapsOf(joined.series!.importKwh!)).toBe(7 * 24);
    expect(joined.findings).toContainEqual(
      expect.objectContaining({
        code: 'part-missing',
        data: expect.objectContaining({ counted: 'unknown', days: 7, others: ['the general register'] }),
      }),
    );
  });

  test('count once where they are the same energy', () => {
    const joined = joinSeries([read(file('Usage', heater)), read(file('Controlled load', heater))]);
    expect(kwhOf(joined.series?.importKwh)).toBeCloseTo(sumOf(heater), 6);
  });
});
