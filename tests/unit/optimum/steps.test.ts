import { type DispatchProblem, optimalDispatch } from '@duskbank/core/dispatch';
import { describe, expect, it } from 'vitest';

/** Two steps of an hour, a full store of 1 kWh without losses, surplus that may be thrown away. */
const TWO: DispatchProblem = {
  stepHours: 1,
  netLoadKwh: Float64Array.of(-0.5, 0),
  importPricePerKwh: Float64Array.of(0.1, -0.3),
  exportPricePerKwh: Float64Array.of(0.05, -0.4),
  capacityKwh: 1,
  floorKwh: 0,
  initialKwh: 1,
  chargeLimitKw: 1,
  dischargeLimitKw: 1,
  chargeEfficiency: 1,
  dischargeEfficiency: 1,
  curtailment: true,
  exportLimitKw: 0.5,
};

describe('what a step may do', () => {
  it('sells from the store in the place of surplus, which is thrown away, where room in it is paid for later', () => {
    const { cost, dischargeKwh, curtailedKwh, chargeKwh, proof } = optimalDispatch(TWO);
    // Half a kWh of surplus in all, sold at 0.05 from the store; then 0.5 kWh of import at −0.30: −0.025 − 0.15.
    expect(cost).toBeCloseTo(-0.175, 12);
    expect(proof).toBe('exact');
    expect([...dischargeKwh]).toEqual([0.5, 0]);
    expect([...curtailedKwh]).toEqual([0.5, 0]);
    expect([...chargeKwh]).toEqual([0, 0.5]);
  });

  it.each([
    [-0.3, 0.01 - 0.15, 0.5],
    [-0.01, 0, 0],
  ])('may sell from the store where surplus is thrown away, at a loss (later import at %d)', (paid, least, soldKwh) => {
    const { cost, dischargeKwh, curtailedKwh } = optimalDispatch({
      ...TWO,
      importPricePerKwh: Float64Array.of(0.1, paid),
      exportPricePerKwh: Float64Array.of(-0.02, -0.4),
    });
    // Half a kWh sold at −0.02 makes room for half a kWh of import.
    expect(cost).toBeCloseTo(least, 12);
    expect([...dischargeKwh]).toEqual([soldKwh, 0]);
    expect([...curtailedKwh]).toEqual([0.5, 0]);
  });

  it.each([0, 1e-14])('is convex where it may give nothing, whatever giving would earn (limit %d kW)', (limitKw) => {
    // Buying is paid for 0.10; carrying load would forgo that: dearer than buying with losses, if there were any to carry.
    // What rounding leaves of a limit is nothing.
    const { proof, gap } = optimalDispatch({
      ...TWO,
      netLoadKwh: Float64Array.of(0.4, 0.4),
      importPricePerKwh: Float64Array.of(-0.1, 0.3),
      exportPricePerKwh: Float64Array.of(-0.2, 0),
      initialKwh: 0.2,
      chargeEfficiency: 0.9,
      dischargeEfficiency: 0.9,
      dischargeLimitKw: Float64Array.of(limitKw, 1),
    });
    expect(proof).toBe('exact');
    expect(gap).toBe(0);
  });
});
