// Kept answers: see tests/support/kept.ts.
import { loadSite } from '@duskbank/core/site';
import { expect, test } from 'vitest';
import { keptOf } from '../../support/kept.ts';
import { seedsFrom } from '../../support/kept-sites.ts';
import { generateSite, intervalCsv, retold } from '../../support/panel/index.ts';

/** Ways in which the columns of a home miss each other: by a little, by much, in one month, in steps of a tenth. */
const WAYS: readonly ((kwh: number, i: number) => number)[] = [
  (kwh) => 0.93 * kwh,
  (kwh) => 0.97 * kwh + 0.02,
  (kwh, i) => (i > 500 ? 0.5 * kwh : kwh),
  (kwh) => Math.round(10 * kwh) / 10,
  (kwh, i) => (i % 24 < 12 ? kwh : Math.round(5 * kwh) / 5),
  (kwh) => (kwh > 0.5 ? 0.5 : 0),
  () => 0,
];

test.each(seedsFrom(900, 21))('home %d whose columns miss each other', async (seed) => {
  const made = generateSite(seed, { home: { days: 40, stepMinutes: 60, firstDate: '2026-01-11', solar: true } });
  const { importKwh, exportKwh, solarKwh, loadKwh } = made.home;
  const wrong = Float64Array.from(loadKwh, WAYS[seed % WAYS.length]!);
  const columns =
    seed % 2 === 0 ? { importKwh, exportKwh, solarKwh, loadKwh: wrong } : { importKwh, solarKwh, loadKwh: wrong };
  const site = retold(made, { files: { 'home.csv': intervalCsv(made.home, columns) } });
  expect(
    await keptOf(async () => {
      const { facts, study } = await loadSite(site.path, site.read);
      return { facts, loadKwh: study.home.loadKwh, solarKwh: study.home.solarKwh };
    }, 3),
  ).toMatchSnapshot();
});
