// Kept answers: see tests/support/kept.ts.
import { loadSite } from '@duskbank/core/site';
import { expect, test } from 'vitest';
import { keptOf } from '../../support/kept.ts';
import { seedsFrom } from '../../support/kept-sites.ts';
import { generateSite, intervalCsv, type Json, retold } from '../../support/panel/index.ts';

/** Homes whose battery acts on more than the net. */
const SITES = seedsFrom(0, 150)
  .map((seed) => generateSite(seed, { home: { days: 20 + (seed % 20), solar: true } }))
  .filter(({ document, tariff }) => {
    const { coupling, reach } = document.plant as Json;
    const isMore = coupling === 'dc' || (reach !== undefined && reach !== 'whole-home');
    return isMore && (tariff.document.export as Json).kind !== 'buy-all';
  })
  .slice(0, 16);

test.each(SITES.map((site, k) => [k, site] as const))('home %d without a meter of its sun', async (_k, known) => {
  const { importKwh, exportKwh } = known.home;
  const site = retold(known, { files: { 'home.csv': intervalCsv(known.home, { importKwh, exportKwh }) } });
  expect(
    await keptOf(async () => {
      const { study } = await loadSite(site.path, site.read);
      const { loadKwh, solarKwh } = study.home;
      const hidden = study.warnings.find(({ code }) => code === 'solar-hidden');
      return { loadKwh, solarKwh, known: study.loadKnown, hidden: hidden?.data, warnings: study.warnings };
    }, 2),
  ).toMatchSnapshot();
});
