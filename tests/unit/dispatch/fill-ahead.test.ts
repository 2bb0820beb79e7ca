import { runStrategy, selfConsumption } from '@duskbank/core/dispatch';
import { expect, test } from 'vitest';
import { plainPlant, seededHome } from '../../support/homes.ts';

test('a floor that rises is begun as long before as filling takes with its losses', () => {
  // 1 kW in, 0.8 of it stored: 36 kWh take 45 hours, where 45 hours without losses would be 36.
  const rises = 100;
  const home = seededHome(1, {
    days: 8,
    stepMinutes: 60,
    startEpochMs: Date.UTC(2026, 1, 2, 7),
    zone: 'America/Denver',
    solarKw: 0,
  });
  const floorKwh = new Float64Array(home.axis.intervals).fill(36, rises);
  const plant = plainPlant({
    capacityKwh: 40,
    chargeLimitKw: 1,
    chargeEfficiency: 0.8,
    solarChargeEfficiency: 0.8,
    floorKwh,
  });
  const { flows, shortfallIntervals } = runStrategy(selfConsumption, { ...home, plant });
  expect(flows.socKwh[rises]).toBeGreaterThanOrEqual(36 - 1e-9);
  expect(shortfallIntervals).toBe(0);
  // And no sooner than it must be.
  expect(flows.socKwh[rises - 52]).toBe(0);
});
