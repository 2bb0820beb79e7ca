// Kept answers: see tests/support/kept.ts. Efficiencies by which of them a site states.
import { loadSite } from '@duskbank/core/site';
import { expect, test } from 'vitest';
import { keptOf } from '../../support/kept.ts';
import { generateSite, type Json, retold } from '../../support/panel/index.ts';

const FIELDS = { roundTripEfficiency: 0.9, chargeEfficiency: 0.95, dischargeEfficiency: 0.96 };
const SITE = generateSite(3, { home: { days: 3, stepMinutes: 60 } });

test.each([0, 1, 2, 3, 4, 5, 6, 7])('efficiencies of which those of %d are stated', async (bits) => {
  const stated = Object.entries(FIELDS).filter((_, k) => (bits >> k) % 2 === 1);
  const plant = SITE.document.plant as Json;
  const { roundTripEfficiency: _, chargeEfficiency: __, dischargeEfficiency: ___, ...battery } = plant.battery as Json;
  const document = { plant: { ...plant, battery: { ...battery, ...Object.fromEntries(stated) } } };
  const { path, read } = retold(SITE, { document });
  expect(
    await keptOf(async () => {
      const { chargeEfficiency, dischargeEfficiency } = (await loadSite(path, read)).study.home.plant;
      return { chargeEfficiency, dischargeEfficiency };
    }),
  ).toMatchSnapshot();
});
