import { makeAxis } from '@duskbank/core/axis';
import { optimalDispatch } from '@duskbank/core/dispatch';
import { billTariff, billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, it } from 'vitest';

/** April 2026, so that a bill has 30 days and no clock change: 720 hours. */
const axis = makeAxis({ startEpochMs: Date.UTC(2026, 3, 1), stepMinutes: 60, intervals: 720, zone: 'UTC' });

const tariff = (credits: object[], more: object = {}) =>
  parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Plenty',
    currency: 'USD',
    energy: [{ name: 'Energy', pricePerKwh: 0.1 }],
    usageCredits: credits,
    ...more,
  });

const flows = (kwhPerHour: number) => ({
  importKwh: new Float64Array(720).fill(kwhPerHour),
  exportKwh: new Float64Array(720),
});

describe('a credit for using so much', () => {
  const compiled = compileTariff(tariff([{ name: 'Credit', amount: 50, leastKwh: 1000 }]), axis);

  it('is off a bill that reaches it, and not off one a kWh below', () => {
    // 1,000 kWh at 0.10 less 50; 999 kWh have none.
    expect(billTariff(compiled, flows(1000 / 720)).total).toBe(50);
    expect(billTariff(compiled, flows(999 / 720)).total).toBe(99.9);
    expect(billTotal(compiled, flows(999 / 720))).toBeCloseTo(99.9, 9);
  });

  it('is reached by a sum that binary leaves a hair below: 720 times 1000 ÷ 720', () => {
    const sum = flows(1000 / 720).importKwh.reduce((total, kwh) => total + kwh, 0);
    expect(sum).not.toBe(1000);
    expect(billTotal(compiled, flows(1000 / 720))).toBeCloseTo(50, 9);
  });

  it('falls away again from belowKwh on', () => {
    const limited = compileTariff(tariff([{ name: 'Credit', amount: 6, leastKwh: 0, belowKwh: 250 }]), axis);
    expect(billTariff(limited, flows(249 / 720)).total).toBe(18.9);
    expect(billTariff(limited, flows(250 / 720)).total).toBe(25);
  });

  it('is what taxes on it are lowered by', () => {
    const taxed = compileTariff(
      tariff([{ name: 'Credit', amount: 50, leastKwh: 1000 }], {
        taxes: [{ name: 'Tax', percent: 10, on: ['Energy', 'Credit'] }],
      }),
      axis,
    );
    // (100 − 50) · 1.1
    expect(billTariff(taxed, flows(1000 / 720)).total).toBe(55);
    expect(billTotal(taxed, flows(1000 / 720))).toBeCloseTo(55, 9);
  });

  it('is refused where its range is empty', () => {
    expect(() => tariff([{ name: 'Credit', amount: 5, leastKwh: 300, belowKwh: 300 }])).toThrow(/belowKwh/);
  });

  it('leaves no schedule below the bound of the optimum', () => {
    const { importKwh } = flows(1003 / 720);
    const problem = {
      stepHours: 1,
      netLoadKwh: importKwh.map((kwh, i) => (i % 24 < 12 ? kwh + 0.8 : kwh - 0.8)),
      importPricePerKwh: compiled.importPricePerKwh.map((price, i) => (i % 24 < 12 ? price + 0.05 : price)),
      exportPricePerKwh: new Float64Array(720),
      terms: compiled.terms,
      capacityKwh: 5,
      floorKwh: 0,
      chargeLimitKw: 2,
      dischargeLimitKw: 2,
      // What is stored may take the bill below 1,000 kWh, where energy is cheaper and the credit lost.
      initialKwh: 5,
      chargeEfficiency: 0.9,
      dischargeEfficiency: 0.9,
    };
    const best = optimalDispatch(problem);
    const costOf = (net: Float64Array) => {
      const bought = net.map((kwh) => Math.max(0, kwh));
      const energy = bought.reduce((sum, kwh, i) => sum + kwh * problem.importPricePerKwh[i]!, 0);
      return energy - (bought.reduce((sum, kwh) => sum + kwh, 0) >= 1000 ? 50 : 0);
    };
    expect(best.cost - best.gap).toBeLessThanOrEqual(costOf(problem.netLoadKwh) + 1e-9);
    expect(best.cost).toBeLessThanOrEqual(costOf(problem.netLoadKwh) + 1e-9);
    // 1,003 kWh: with the credit's part for each kWh on the way to 1,000, what keeps it is the best there is.
    expect(best.proof).toBe('exact');
  });

  it('leaves no schedule below the bound of the optimum, where spending what is stored loses the credit', () => {
    const { importKwh, exportKwh } = flows(1003 / 720);
    const best = optimalDispatch({
      stepHours: 1,
      netLoadKwh: importKwh,
      importPricePerKwh: compiled.importPricePerKwh,
      exportPricePerKwh: exportKwh,
      terms: compiled.terms,
      capacityKwh: 5,
      floorKwh: 0,
      chargeLimitKw: 2,
      dischargeLimitKw: 2,
      // 4.5 kWh of load can be carried by it: 998.5 kWh are bought then.
      initialKwh: 5,
      chargeEfficiency: 0.9,
      dischargeEfficiency: 0.9,
    });
    // The battery left alone: 1,003 kWh at 0.10 less 50.
    const idle = 100.3 - 50;
    expect(best.cost - best.gap).toBeLessThanOrEqual(idle + 1e-9);
    // Spending all of it comes to 99.85: more than to leave it alone.
    expect(best.cost).toBeLessThanOrEqual(idle + 1e-9);
    expect(best.proof).toBe('gap');
  });
});
