import { bestInHindsight } from '@duskbank/core/dispatch';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';

// A battery that does nothing pays less than one that serves what the service can't, by what isn't served: it is no answer.

const document = {
  format: 'duskbank.tariff/1',
  name: 'Classes',
  currency: 'USD',
  energy: [{ name: 'Energy', pricePerKwh: 0.2 }],
  demand: [
    {
      name: 'Fee',
      averagingMinutes: 60,
      steps: [{ upToKw: 0.3, amount: 10 }, { upToKw: 3, amount: 20 }, { amount: 90 }],
    },
  ],
};

test.each([
  [1, 0.1],
  [1, 0.9],
  [2, 0.4],
  [3, 0.3],
  [3, 2],
])('%d hours in which %d kWh are more than the service gives', (hours, kwhOver) => {
  const home = seededHome(
    1,
    { days: 2, stepMinutes: 60, startEpochMs: Date.UTC(2026, 0, 1), zone: 'UTC', solarKw: 0 },
    plainPlant({ conversionW: 0 }),
    { ...openService, importLimitKw: 2 },
    (axis) => compileTariff(parseTariff(document), axis),
  );
  const isOver = (i: number) => i >= 20 && i < 20 + hours;
  const loadKwh = home.loadKwh.map((_, i) => (isOver(i) ? 2 + kwhOver : 0.5));
  const best = bestInHindsight({ ...home, loadKwh });
  // Exact, no rule would be looked at beside it.
  expect(best.proof).toBe('gap');
  for (let i = 0; i < loadKwh.length; i++)
    if (isOver(i)) {
      expect(best.schedule.dischargeKwh[i]).toBeGreaterThanOrEqual(kwhOver - 1e-9);
      expect(best.flows.importKwh[i]).toBeLessThanOrEqual(2 + 1e-9);
    }
});
