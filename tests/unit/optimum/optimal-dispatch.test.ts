import { type DispatchProblem, optimalDispatch, storedValue } from '@duskbank/core/dispatch';
import { InputError } from '@duskbank/core/input';
import { describe, expect, it } from 'vitest';

const series = (...values: number[]) => Float64Array.from(values);

function battery(changes: Partial<DispatchProblem>): DispatchProblem {
  const n = changes.netLoadKwh?.length ?? 4;
  return {
    stepHours: 1,
    netLoadKwh: new Float64Array(n),
    importPricePerKwh: new Float64Array(n).fill(0.3),
    exportPricePerKwh: new Float64Array(n),
    capacityKwh: 10,
    floorKwh: 0,
    chargeLimitKw: 5,
    dischargeLimitKw: 5,
    initialKwh: 0,
    chargeEfficiency: 0.9,
    dischargeEfficiency: 0.9,
    ...changes,
  };
}

describe('closed forms', () => {
  it('Dantzig’s warehouse costs −600', () => {
    // Linear Programming and Extensions (1963), §3.6; GAMS model library SEQ 4 "WHOUSE". Prices 10, 12, 8, 9, buy =
    // sell; 1 a unit of stock at each quarter's end. Storage cost of a unit held from quarter t on is 4 − t, so that a
    // unit bought at t costs price + (4 − t) … and one sold earns as much: 14, 15, 10, 10; the opening 50 cost 50 · 4.
    const price = series(14, 15, 10, 10);
    const { cost, socKwh, proof } = optimalDispatch(
      battery({
        netLoadKwh: new Float64Array(4),
        importPricePerKwh: price,
        exportPricePerKwh: price,
        capacityKwh: 100,
        initialKwh: 50,
        chargeLimitKw: Number.POSITIVE_INFINITY,
        dischargeLimitKw: Number.POSITIVE_INFINITY,
        chargeEfficiency: 1,
        dischargeEfficiency: 1,
      }),
    );
    expect(cost + 50 * 4).toBeCloseTo(-600, 10);
    expect([...socKwh]).toEqual([100, 0, 100, 0]);
    expect(proof).toBe('exact');
  });

  it('a cheap and a dear hour: worth it when η · dear > cheap', () => {
    const trade = (cheap: number, dear: number) =>
      optimalDispatch(
        battery({ netLoadKwh: series(0, 2), importPricePerKwh: series(cheap, dear), exportPricePerKwh: series(0, 0) }),
      );
    // 2 kWh at 0.5, or 2 ÷ 0.81 kWh at 0.4
    expect(trade(0.4, 0.5).cost).toBeCloseTo((2 / 0.81) * 0.4, 12);
    expect(trade(0.41, 0.5).cost).toBeCloseTo(1, 12);
  });

  it('wear: worth it when η · (dear − wear) > cheap', () => {
    const trade = (wearPerKwh: number) =>
      optimalDispatch(
        battery({
          netLoadKwh: series(0, 2),
          importPricePerKwh: series(0.3, 0.5),
          exportPricePerKwh: series(0, 0),
          wearPerKwh,
        }),
      ).cost;
    // 0.5 − 0.3 ÷ 0.81 = 0.1296…
    expect(trade(0.12)).toBeCloseTo(2 * (0.3 / 0.81 + 0.12), 12);
    expect(trade(0.13)).toBeCloseTo(1, 12);
  });

  it('a marginal value is what the next use earns, or the last purchase costs', () => {
    const { marginalValuePerKwh } = optimalDispatch(
      battery({
        netLoadKwh: series(0, 0, 2),
        importPricePerKwh: series(0.2, 0.4, 0.5),
        exportPricePerKwh: series(0, 0, 0),
      }),
    );
    // One more kWh at the start saves buying 1 ÷ 0.9 at 0.2; at the start of step 1 the 2 kWh are provided for.
    expect([...marginalValuePerKwh].map((v) => +v.toFixed(12))).toEqual([+(0.2 / 0.9).toFixed(12), 0, 0]);
  });
});

describe('among equal costs, energy is held, early', () => {
  it('surplus that earns nothing is stored at once, and kept', () => {
    const { socKwh, curtailedKwh } = optimalDispatch(battery({ netLoadKwh: series(-4, -4, -4, 0) }));
    expect([...socKwh].map((v) => +v.toFixed(12))).toEqual([3.6, 7.2, 10, 10]);
    expect([...curtailedKwh]).toEqual([0, 0, 0, 0]);
  });
});

describe('never infeasible', () => {
  it('a floor out of reach is lowered to the highest reachable', () => {
    const { socKwh, proof } = optimalDispatch(battery({ floorKwh: series(0, 8, 8, 0) }));
    expect([...socKwh].map((v) => +v.toFixed(12))).toEqual([4.5, 8, 8, 8]);
    expect(proof).toBe('exact');
  });

  it('without grid charging only own surplus raises it', () => {
    const { socKwh } = optimalDispatch(
      battery({ netLoadKwh: series(1, -2, 1, 1), floorKwh: 5, gridCharging: false, initialKwh: 0 }),
    );
    expect([...socKwh].map((v) => +v.toFixed(12))).toEqual([0, 1.8, 1.8, 1.8]);
  });

  it('energy above a falling capacity leaves as fast as the limits allow', () => {
    const { socKwh } = optimalDispatch(
      battery({
        capacityKwh: series(10, 2, 2, 2),
        initialKwh: 10,
        dischargeLimitKw: 2.7,
        netLoadKwh: series(9, 9, 9, 9),
      }),
    );
    expect([...socKwh].map((v) => +v.toFixed(12))).toEqual([7, 4, 2, 0]);
  });

  it('load above the import limit is carried before cost is weighed, and the rest left unserved', () => {
    const { unservedKwh, dischargeKwh } = optimalDispatch(
      battery({
        netLoadKwh: series(2, 4, 5.5, 2),
        importPricePerKwh: series(9, 0.1, 0.1, 9),
        importLimitKw: 3,
        initialKwh: 3,
        dischargeEfficiency: 1,
        chargeLimitKw: 0,
      }),
    );
    // 1 + 2.5 kWh stand above the limit, 3 are stored: none is spent at 9
    expect(dischargeKwh[0]! + dischargeKwh[3]!).toBe(0);
    expect(unservedKwh.reduce((sum, kwh) => sum + kwh, 0)).toBeCloseTo(0.5, 12);
  });

  it('an end beyond reach is come as near to as can be', () => {
    const { socKwh } = optimalDispatch(battery({ netLoadKwh: series(0, 0), finalMinKwh: 10 }));
    expect([...socKwh]).toEqual([4.5, 9]);
  });

  it('no intervals cost nothing', () => {
    expect(optimalDispatch(battery({ netLoadKwh: new Float64Array(0) })).cost).toBe(0);
  });
});

describe('reach', () => {
  it('discharge offsets no more than the load it reaches, and sells only where it reaches all', () => {
    const { dischargeKwh } = optimalDispatch(
      battery({
        netLoadKwh: series(4, 4, 0, -1),
        servedLoadLimitKwh: series(1, 4, 0, 0),
        exportPricePerKwh: series(0.29, 0.29, 0.29, 0.29),
        dischargeLimitKw: 5,
        initialKwh: 10,
        capacityKwh: 100,
        dischargeEfficiency: 1,
        chargeEfficiency: 1,
      }),
    );
    expect(dischargeKwh[0]).toBe(1);
    expect(dischargeKwh.reduce((a, b) => a + b, 0)).toBe(10);
  });
});

describe('faults of the input', () => {
  it('are all named at once', () => {
    let caught: unknown;
    try {
      optimalDispatch(
        battery({
          netLoadKwh: series(0, Number.NaN),
          importPricePerKwh: series(1, 1, 1),
          exportPricePerKwh: series(0, 0),
          chargeEfficiency: 1.2,
          initialKwh: -1,
        }),
      );
    } catch (error) {
      caught = error;
    }
    expect(caught).toBeInstanceOf(InputError);
    expect((caught as InputError).issues.map((issue) => [issue.code, issue.where.path])).toEqual([
      ['not-finite', ['netLoadKwh', 1]],
      ['length-mismatch', ['importPricePerKwh']],
      ['out-of-range', ['initialKwh']],
      ['out-of-range', ['chargeEfficiency']],
    ]);
  });

  const faultsOf = (call: () => unknown) => {
    try {
      call();
    } catch (error) {
      if (error instanceof InputError) return error.issues.map((issue) => [issue.code, issue.where.path]);
      throw error;
    }
    return [];
  };

  it('more in the store than its capacity is refused, at the start and at a moment', () => {
    for (const initialKwh of [10.001, 15, 1e6])
      expect(faultsOf(() => optimalDispatch(battery({ initialKwh })))).toEqual([['contradiction', ['initialKwh']]]);
    expect(faultsOf(() => optimalDispatch(battery({ initialKwh: 10 * (1 + 1e-12) })))).toEqual([]);
    const falling = battery({ capacityKwh: series(8, 2, 2, 2), initialKwh: 8, dischargeLimitKw: 0.5 });
    expect(faultsOf(() => optimalDispatch(falling))).toEqual([]);
    expect(faultsOf(() => optimalDispatch({ ...falling, initialKwh: 8.1 }))).toEqual([
      ['contradiction', ['initialKwh']],
    ]);
    // What a capacity that fell left in the store is still there later.
    expect(faultsOf(() => storedValue(falling, 2, 7))).toEqual([]);
    expect(faultsOf(() => storedValue(falling, 2, 9))).toEqual([['contradiction', ['socKwh']]]);
  });

  it('surplus is stored at no more than an inverter explains', () => {
    const withSolar = (solarChargeEfficiency: number) =>
      faultsOf(() => optimalDispatch(battery({ netLoadKwh: series(1, -2, 1, 1), solarChargeEfficiency })));
    // 0.9 ÷ 0.5 = 1.8
    expect(withSolar(1.8)).toEqual([]);
    expect(withSolar(2)).toEqual([['contradiction', ['solarChargeEfficiency']]]);
  });

  it('the input is never changed', () => {
    const problem = battery({
      netLoadKwh: series(1, -3, 2, 5),
      floorKwh: series(0, 9, 9, 0),
      capacityKwh: series(10, 10, 9, 8),
      clippedKwh: series(0, 1, 0, 0),
      finalMinKwh: 4,
    });
    const before = structuredClone(problem);
    optimalDispatch(problem);
    expect(problem).toEqual(before);
  });
});
