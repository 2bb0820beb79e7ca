import { bestInHindsight, hold, runStrategy, type Strategy, selfConsumption } from '@duskbank/core/dispatch';
import { billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, it } from 'vitest';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';

// A minimum that counts one supplier's charges, and another supplier who pays for each kWh: while the bill is topped up, what the
// inverter draws to convert is paid for.

/** Filled and emptied in turn. */
const cycle: Strategy = {
  name: 'cycle',
  knowledge: 'causal',
  begin: () => ({
    plan(from, _socKwh, levels) {
      levels.gridChargeToKwh[from] = levels.serveDownToKwh[from] = from % 2 === 0 ? Number.POSITIVE_INFINITY : 0;
      return from + 1;
    },
  }),
};

describe('no run costs less than the bound', () => {
  it.each([0, 60, 400])('of a box that draws %d W to convert', (conversionW) => {
    for (let seed = 1; seed <= 4; seed++)
      for (const amount of [0, 60, 400]) {
        const home = seededHome(
          seed,
          { days: 31, stepMinutes: 60, startEpochMs: Date.UTC(2026, 0, 1), zone: 'UTC', solarKw: seed % 2 },
          plainPlant({ conversionW }),
          openService,
          (axis) =>
            compileTariff(
              parseTariff({
                format: 'duskbank.tariff/1',
                name: 'Two suppliers',
                currency: 'USD',
                unusualPrices: true,
                energy: [
                  { name: 'Delivery', supplier: 'A', pricePerKwh: 0.2 },
                  { name: 'Rider', supplier: 'B', pricePerKwh: -0.05 },
                ],
                minimumBill: { amount, on: ['A'] },
              }),
              axis,
            ),
        );
        const { boundTotal } = bestInHindsight(home);
        for (const rule of [hold, selfConsumption, cycle])
          expect(
            billTotal(home.tariff, runStrategy(rule, home).flows),
            `seed ${seed}, ${amount}: ${rule.name}`,
          ).toBeGreaterThanOrEqual(boundTotal - 1e-6);
      }
  });
});
