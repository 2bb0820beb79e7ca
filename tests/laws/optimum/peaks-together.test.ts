import { readFileSync } from 'node:fs';
import { bestInHindsight, peakShave, runStrategy, selfConsumption } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { expect, it } from 'vitest';
import { billedFlows } from '../../../packages/core/src/dispatch/billed.ts';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';

const tariff = parseTariff({
  format: 'duskbank.tariff/1',
  name: 'Power by the hour',
  currency: 'USD',
  windows: [
    { name: 'dear', from: '17:00', to: '21:00', pricePerKwh: 0.3 },
    { name: 'cheap', otherwise: true, pricePerKwh: 0.12 },
  ],
  export: { kind: 'net-billing', pricePerKwh: 0.05 },
  demand: [
    { name: 'At any hour', pricePerKw: 4 },
    { name: 'Evening', pricePerKw: 6, inWindows: 'dear' },
    { name: 'Day', pricePerKw: 2, from: '08:00', to: '23:00' },
  ],
});

it.each([1, 2, 3, 4, 5, 6])(
  'charges on several peaks of a month, lowered together, meet their bound: home %i',
  (seed) => {
    const home = seededHome(
      seed,
      {
        days: 59,
        stepMinutes: 60,
        startEpochMs: Date.UTC(2026, 0, 1),
        zone: 'UTC',
        solarKw: [0, 2, 5][seed % 3]!,
      },
      plainPlant({ capacityKwh: 9, chargeLimitKw: 3, dischargeLimitKw: 3, floorKwh: 2, startKwh: 2 }),
      openService,
      (axis) => compileTariff(tariff, axis),
    );
    const best = bestInHindsight(home);
    // One by one, none of them is worth lowering alone.
    expect(best.billTotal - best.boundTotal).toBeLessThanOrEqual(1e-5 * best.billTotal);
    for (const rule of [selfConsumption, peakShave()])
      expect(billTotal(home.tariff, billedFlows(home, runStrategy(rule, home).flows))).toBeGreaterThanOrEqual(
        best.boundTotal - 1e-6,
      );
  },
);

it('a year of quarters is tied until nearly nothing is left between the best found and its bound', async () => {
  const hours = [
    ['00:00', '12:00'],
    ['01:00', '19:00'],
    ['02:00', '15:00'],
  ];
  const demand = hours.map(([from, to], k) => ({ name: `Power ${k}`, pricePerKw: 2 + 0.01 * k, from, to }));
  const { case: home } = await loadSite('fixtures/demo/site.json', (path) =>
    path.endsWith('tariff.json')
      ? new TextEncoder().encode(JSON.stringify({ ...JSON.parse(readFileSync(path, 'utf8')), demand }))
      : readFileSync(path),
  );
  const best = bestInHindsight(home);
  // 0.48 and 787.28 where the search ended with the first round that brought nothing.
  expect(best.billTotal - best.boundTotal).toBeLessThanOrEqual(0.005);
  expect(best.billTotal).toBeLessThanOrEqual(787.03);
});
