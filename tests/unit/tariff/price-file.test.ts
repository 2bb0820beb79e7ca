import { makeAxis } from '@duskbank/core/axis';
import type { InputError } from '@duskbank/core/input';
import { compileTariff, parsePriceSeries, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';

const prices = (text: string, zone = 'Europe/Berlin') => {
  const { startEpochMs, stepMinutes, pricePerKwh } = parsePriceSeries(text, zone, 'prices.csv');
  return { start: new Date(startEpochMs).toISOString(), stepMinutes, prices: Array.from(pricePerKwh) };
};
const codes = (text: string) => {
  try {
    prices(text);
  } catch (error) {
    return (error as InputError).issues.map(({ code }) => code);
  }
  return [];
};

describe('files of prices are read as meter files are', () => {
  const first = [0.08123, -0.0125, 0.09];

  test.each([
    ['our own form', 'start,price\n2026-01-05T00:00,0.08123\n2026-01-05T01:00,-0.0125\n2026-01-05T02:00,0.09\n'],
    [
      'dates, hour numbers and decimals of a portal, a price of a MWh',
      `Datum;Stunde;Preis [EUR/MWh]\n05.01.2026;1;81,23\n05.01.2026;2;-12,50\n${Array.from({ length: 22 }, (_, k) => `05.01.2026;${k + 3};90,00`).join('\n')}\n06.01.2026;1;90,00\n`,
    ],
    [
      'cents, and both ends of each hour',
      'from,to,ct/kWh\n2026-01-05 00:00,2026-01-05 01:00,8.123\n2026-01-05 01:00,2026-01-05 02:00,-1.25\n2026-01-05 02:00,2026-01-05 03:00,9\n',
    ],
    [
      'instants, and the unit in a column',
      'time;price;unit\n2026-01-04T23:00Z;81.23;EUR/MWh\n2026-01-05T00:00Z;-12.5;EUR/MWh\n2026-01-05T01:00Z;90;EUR/MWh\n',
    ],
    [
      'a preamble, and other columns',
      'Day-ahead prices\n\nDate,Time,Volume MW,Price (EUR/kWh)\n2026-01-05,00:00,1200,0.08123\n2026-01-05,01:00,1300,-0.0125\n2026-01-05,02:00,1250,0.09\n',
    ],
  ])('%s', (_, text) => {
    const { prices: read, ...when } = prices(text);
    expect(when).toEqual({ start: '2026-01-04T23:00:00.000Z', stepMinutes: 60 });
    expect(read.slice(0, 3)).toEqual(first);
  });

  test('quarter hours hold through their step, and the repeated hour comes twice', () => {
    // Clocks go back on 2025-10-26 at 03:00: 02:00 comes twice.
    const labels = ['01:00', '02:00', '02:00', '03:00'];
    const text = `start,price\n${labels.map((label, k) => `2025-10-26 ${label},0.${k + 1}`).join('\n')}\n`;
    expect(prices(text)).toMatchObject({ stepMinutes: 60, prices: [0.1, 0.2, 0.3, 0.4] });
    const quarters = ['00', '15', '30', '45'].map((minute, k) => `2026-01-05 00:${minute},0.${k + 1}`).join('\n');
    expect(prices(`start,price\n${quarters}\n`)).toMatchObject({ stepMinutes: 15, prices: [0.1, 0.2, 0.3, 0.4] });
  });

  test('a blank is refused where the data need it, and only there', () => {
    const hours = Array.from({ length: 48 }, (_, h) => new Date(Date.UTC(2026, 0, 5, h)).toISOString().slice(0, 16));
    const text = `start,price\n${hours.map((at, h) => `${at}Z,${h === 30 || h === 31 ? '' : 0.1}`).join('\n')}\n`;
    const series = { 'p.csv': parsePriceSeries(text, 'UTC', 'p.csv') };
    const tariff = parseTariff({
      format: 'duskbank.tariff/1',
      name: 'T',
      currency: 'EUR',
      energy: [{ name: 'Spot', series: { file: 'p.csv' } }],
    });
    const axis = (intervals: number) =>
      makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals, zone: 'Etc/UTC' });
    expect(compileTariff(tariff, axis(24), { series }).importPricePerKwh.every((price) => price === 0.1)).toBe(true);
    expect(() => compileTariff(tariff, axis(48), { series })).toThrow(/no price at 2026-01-06 06:00 UTC, 2 of them/);
  });

  test('which column is meant is never guessed', () => {
    expect(codes('start,DE EUR/MWh,FR EUR/MWh\n2026-01-05T00:00,81,82\n2026-01-05T01:00,83,84\n')).toEqual([
      'several-price-columns',
    ]);
    expect(codes('start,wind,load\n2026-01-05T00:00,81,82\n2026-01-05T01:00,83,84\n')).toEqual(['no-price-column']);
    expect(codes('hello')).not.toEqual([]);
  });
});
