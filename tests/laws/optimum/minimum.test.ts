import { bestInHindsight, hold, runStrategy, selfConsumption } from '@duskbank/core/dispatch';
import { billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, it } from 'vitest';
import { billedFlows } from '../../../packages/core/src/dispatch/billed.ts';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';

/** Two windows. */
const BASE = {
  format: 'duskbank.tariff/1',
  name: 'At least',
  currency: 'USD',
  windows: [
    { name: 'dear', from: '17:00', to: '21:00', pricePerKwh: 0.4 },
    { name: 'cheap', otherwise: true, pricePerKwh: 0.12 },
  ],
};
const DEMAND = { demand: [{ name: 'Power', pricePerKw: 3 }] };
const SHAPES: Readonly<Record<string, object>> = {
  'energy alone': { export: { kind: 'net-billing', pricePerKwh: 0.05 } },
  'demand counted': { export: { kind: 'net-billing', pricePerKwh: 0.05 }, ...DEMAND },
  'demand counted, tax on all': {
    export: { kind: 'none' },
    ...DEMAND,
    taxes: [{ name: 'Tax', percent: 5, on: 'all' }],
  },
  'netted by the window': { export: { kind: 'net-metering', carry: 'none', surplusPerKwh: 0.02 } },
  'netted and carried': { export: { kind: 'net-metering', carry: 'kwh', surplusPerKwh: 0.02 }, ...DEMAND },
};

describe('the bound is never below the minimum bill', () => {
  it.each(Object.entries(SHAPES))('%s', (_, shape) => {
    let held = 0;
    for (let seed = 1; seed <= 8; seed++) {
      // From bills that are all topped up to bills that never are.
      const amount = [20, 60, 120, 300][seed % 4]!;
      const home = seededHome(
        seed,
        { days: 59, stepMinutes: 60, startEpochMs: Date.UTC(2026, 0, 1), zone: 'UTC', solarKw: seed % 2 === 0 ? 4 : 1 },
        plainPlant(),
        openService,
        (axis) => compileTariff(parseTariff({ ...BASE, ...shape, minimumBill: { amount, per: 'bill' } }), axis),
      );
      const best = bestInHindsight(home);
      // January and February: two bills, each the amount at least.
      expect(best.boundTotal, `seed ${seed}`).toBeGreaterThanOrEqual(2 * amount - 1e-6);
      expect(best.billTotal, `seed ${seed}`).toBeGreaterThanOrEqual(best.boundTotal - 1e-9);
      for (const rule of [hold, selfConsumption])
        expect(
          billTotal(home.tariff, billedFlows(home, runStrategy(rule, home).flows)),
          rule.name,
        ).toBeGreaterThanOrEqual(best.boundTotal - 1e-6);
      if (best.billTotal < 1.06 * 2 * amount) held++;
    }
    // Some are at the minimum, tax included, so that the law says something.
    expect(held).toBeGreaterThan(0);
  });
});
