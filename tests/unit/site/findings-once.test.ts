// What several meter files say alike is told once, and names them all.
import { loadSite } from '@duskbank/core/site';
import { expect, test } from 'vitest';

const month = (n: number, use = (i: number) => 0.3 + (i % 24) * 0.02) =>
  [
    'start,import kWh',
    ...Array.from({ length: 28 * 24 }, (_, i) => {
      const label = new Date(Date.UTC(2026, n - 1, 1) + i * 3_600_000).toISOString().slice(0, 16).replace('T', ' ');
      return `${label},${use(i).toFixed(3)}`;
    }),
  ].join('\n');

test('coarse steps of three files are one warning; what is of one file alone names that', async () => {
  const files: Record<string, string> = {
    'feb.csv': month(2),
    'mar.csv': month(3),
    // Whole kWh, in one file alone.
    'apr.csv': month(4, (i) => (i % 23 > 16 ? 2 : 0)),
    'tariff.json': JSON.stringify({
      format: 'duskbank.tariff/1',
      name: 'Flat',
      currency: 'USD',
      energy: [{ name: 'Energy', pricePerKwh: 0.2 }],
      export: { kind: 'none' },
    }),
    'site.json': JSON.stringify({
      format: 'duskbank.site/1',
      name: 'Home',
      zone: 'Asia/Tokyo',
      tariff: 'tariff.json',
      meter: { files: ['feb.csv', 'mar.csv', 'apr.csv'], repair: { maxGapHours: 72 } },
    }),
  };
  const { facts } = await loadSite('site.json', async (path) => new TextEncoder().encode(files[path]!));
  const of = (code: string) => facts.filter((one) => one.code === code).map(({ where }) => where.file);
  expect(of('coarse-steps')).toEqual(['feb.csv, mar.csv, apr.csv']);
  expect(of('whole-kwh')).toEqual(['apr.csv']);
});
