import { optimalDispatch } from '@duskbank/core/dispatch';
import { expect, it } from 'vitest';

it('a store that ends below its floor owes nothing for it', () => {
  // 0.5 kWh is there, 2 are asked for, and nothing may fill it: 2 kWh of load are bought for 0.30.
  const { cost, socKwh } = optimalDispatch({
    stepHours: 1,
    netLoadKwh: Float64Array.of(1, 1),
    importPricePerKwh: Float64Array.of(0.3, 0.3),
    exportPricePerKwh: Float64Array.of(0, 0),
    capacityKwh: 5,
    floorKwh: 2,
    initialKwh: 0.5,
    chargeLimitKw: 1,
    dischargeLimitKw: 1,
    chargeEfficiency: 1,
    dischargeEfficiency: 1,
    gridCharging: false,
    finalValuePerKwh: 0.2,
  });
  expect([...socKwh]).toEqual([0.5, 0.5]);
  expect(cost).toBeCloseTo(0.6, 12);
});
