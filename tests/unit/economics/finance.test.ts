import {
  annuity,
  borrowedWithFee,
  capitalRecoveryFactor,
  equivalentAnnual,
  internalRateOfReturn,
  paybackTime,
  presentValue,
} from '@duskbank/core/economics';
import { describe, expect, test } from 'vitest';

// Not ours, so that no value of theirs is asked for: the modified internal rate, periods until a sum is paid off at a given
// payment, payments at the beginning of a period.

/** A flow now, and the same sum in each of the years that follow. */
const level = (now: number, sum: number, years: number) => [now, ...Array.from({ length: years }, () => sum)];

describe('present value', () => {
  // numpy-financial's tests and docstrings; the first flow is now.
  test.each([
    [0.08, [-40000, 5000, 8000, 12000, 30000], 3065.22267, 5],
    [0.05, [-15000, 1500, 2500, 3500, 4500, 6000], 122.894855, 6],
    // pv(0.07, 20, 12000)
    [0.07, level(0, -12000, 20), -127128.1709461939, 8],
  ])('at %d', (rate, flows, value, digits) => {
    expect(presentValue(flows, rate)).toBeCloseTo(value, digits);
  });

  // Maple, Finance[cashflows]: the first flow is a year away.
  test('of flows that begin in a year', () => {
    expect(presentValue([0, 100, 200, 50], 0.1)).toBeCloseTo(293.7640872, 7);
    expect(presentValue([-95, 100, 200, 50], 0.1)).toBeCloseTo(198.7640872, 7);
  });

  // fv(0.05/12, 120, −100, −100) of numpy-financial, a tenth of it at a time: 10 years of months are more flows than a plan has.
  test('grown by as many periods is the value then', () => {
    const rate = 0.05 / 12;
    expect(
      presentValue(level(100, 100, 60), rate) * (1 + rate) ** 120 +
        presentValue(level(0, 100, 60), rate) * (1 + rate) ** 60,
    ).toBeCloseTo(15692.928894, 6);
  });
});

describe('capital recovery', () => {
  // Tables in Blank and Tarquin’s style, and the formulas of the FE reference handbook: rate, years, A/P.
  test.each([
    [0.0025, 10, 0.10138, 5],
    [0.0025, 24, 0.04298, 5],
    [0.35, 10, 0.3683, 4],
    [0.35, 20, 0.3509, 4],
    // From memory, standard table entries.
    [0.05, 10, 0.1295, 5],
    [0.05, 20, 0.08024, 5],
    [0.07, 10, 0.14238, 5],
    [0.07, 25, 0.08581, 5],
    [0.08, 20, 0.10185, 5],
    [0.1, 5, 0.2638, 5],
    [0.1, 10, 0.16275, 5],
    [0.1, 20, 0.11746, 5],
    [0.12, 10, 0.17698, 5],
  ])('%d over %d years', (rate, years, factor, digits) => {
    expect(Number(capitalRecoveryFactor(rate, years).toFixed(digits))).toBe(factor);
    // Its inverse is what a sum of 1 a year is worth now.
    expect(presentValue(level(0, 1, years), rate) * capitalRecoveryFactor(rate, years)).toBeCloseTo(1, 12);
  });

  test('without interest, equal parts; of a rate near 0 no digit is lost', () => {
    expect(capitalRecoveryFactor(0, 8)).toBe(0.125);
    // (1 + n + …)/n to the first order: 1/n + rate · (n + 1)/(2n).
    expect(capitalRecoveryFactor(1e-9, 8)).toBeCloseTo(0.125 + 1e-9 * (9 / 16), 15);
  });

  // NREL ATB 2024, "Equations and Variables": (FCR · CAPEX + FOM) ÷ (CF · 8760); the sum reckoned by hand.
  test('levels a cost over the energy of its years', () => {
    expect((capitalRecoveryFactor(0.07, 25) * 1000 + 20) / (0.2 * 8760)).toBeCloseTo(0.06039, 5);
  });

  test('a year’s equal part', () => {
    expect(equivalentAnnual([-1000, 0, 0, 0, 0], 0)).toBe(-250);
    expect(equivalentAnnual([-1000, 300, 300, 300, 300, 300], 0.1)).toBeCloseTo(300 - 263.8, 1);
  });
});

describe('internal rate of return', () => {
  test.each<[number[], number, number]>([
    // numpy-financial
    [[-100, 39, 59, 55, 20], 0.28095, 5],
    [[-100, 0, 0, 74], -0.0955, 4],
    [[-100, 100, 0, 7], 0.06206, 5],
    [[-150000, 15000, 25000, 35000, 45000, 60000], 0.0524, 4],
    // Spreadsheet's page on IRR, recomputed
    [[-70000, 12000, 15000, 18000, 21000], -0.0212448, 7],
    [[-70000, 12000, 15000, 18000, 21000, 26000], 0.0866309, 7],
    [[-70000, 12000, 15000], -0.4435069, 7],
    // PV-WAVE, INT_RATE_RETURN
    [[-4500, -800, 800, 800, 600, 600, 800, 800, 700, 3000], 0.0720783, 7],
    // numpy-financial, rate(10, 0, −3500, 10000)
    [[-3500, ...Array.from({ length: 9 }, () => 0), 10000], 0.1106908537, 10],
  ])('of %j', (flows, rate, digits) => {
    const found = internalRateOfReturn(flows);
    if (found.kind !== 'one') throw new Error(found.kind);
    expect(Number(found.rate.toFixed(digits))).toBe(rate);
    // Years without money at the end change nothing.
    expect(internalRateOfReturn([...flows, 0, 0, 0])).toEqual(found);
  });

  test('there is none where all goes one way, or what comes never makes up for what goes', () => {
    for (const flows of [[1, 2, 3], [-1, -2, -3], [0, 0], [-5], [-1, 1, -1]])
      expect(internalRateOfReturn(flows)).toEqual({ kind: 'none' });
  });

  // Where others print one of several: numpy-financial’s 0.0886, −0.0833, 0.12 and 1.00426 are among them.
  test.each<[number[], number, number]>([
    [[-5, 10.5, 1, -8, 1], 0.0886, 4],
    [[-100, 100, 0, -7], -0.0833, 4],
    [
      [
        -217500,
        -217500,
        108466.80462450592,
        ...Array.from({ length: 24 }, (_, k) => 108466.80462450592 - 7336.84 * (k + 1)),
      ],
      0.12,
      2,
    ],
    [[-1678.87, 771.96, 1814.05, 3520.3, 3552.95, 3584.99, 4789.91, -1], 1.0043, 4],
  ])('is refused where there are several: %j', (flows, one, digits) => {
    const found = internalRateOfReturn(flows);
    if (found.kind !== 'several') throw new Error(found.kind);
    expect(found.rates.length).toBeGreaterThan(1);
    expect(found.rates.map((rate) => Number(rate.toFixed(digits)))).toContain(one);
    for (const rate of found.rates) {
      const worth = flows.reduce((sum, flow, year) => sum + flow * (1 + rate) ** -year, 0);
      const size = flows.reduce((sum, flow, year) => sum + Math.abs(flow) * (1 + rate) ** -year, 0);
      expect(Math.abs(worth) / size).toBeLessThan(1e-9);
    }
    expect(found.rates).toEqual([...found.rates].sort((a, b) => a - b));
  });

  // An inverter that is replaced makes three changes of sign, and yet there is one rate.
  test('is told where flows turn three times and are worth nothing at one rate alone', () => {
    const flows = level(-9000, 900, 20);
    flows[12] = -1500;
    const found = internalRateOfReturn(flows);
    if (found.kind !== 'one') throw new Error(found.kind);
    expect(presentValue(flows, found.rate)).toBeCloseTo(0, 7);
  });

  test('a rate that flows only touch is no one number; one of 0 is found', () => {
    // −(v − 1/2)² · 4: touched at v = 1/2, a rate of 100 %.
    const touched = internalRateOfReturn([-1, 4, -4]);
    expect(touched.kind).toBe('several');
    expect(touched.kind === 'several' && touched.rates).toEqual([1]);
    expect(internalRateOfReturn([-100, 50, 50])).toEqual({ kind: 'one', rate: 0 });
  });
});

describe('payback', () => {
  test('simple', () => {
    // 10000 / 2600 (a textbook's 3.8)
    expect(paybackTime(level(-10000, 2600, 6)).lasting).toBeCloseTo(3.846, 3);
  });

  // Problems of corporate-finance textbooks, recomputed: cost, flows, rate, years.
  test.each([
    [5200, [2800, 3700, 5100, 4300], 0.14, 1.964],
    [5400, [2800, 3700, 5100, 4300], 0.14, 2.028],
    [10400, [2800, 3700, 5100, 4300], 0.14, 3.65],
    [5500, [4600, 3700, 4900, 4100], 0.13, 1.49],
    [7600, [4600, 3700, 4900, 4100], 0.13, 2.19],
    [10600, [4600, 3700, 4900, 4100], 0.13, 3.09],
    [25000, [15000, 15000, 15000], 0.18, 2.166],
  ])('discounted: %d by %j at %d', (cost, flows, rate, years) => {
    const { first, lasting } = paybackTime([-cost, ...flows], rate);
    expect(lasting).toBeCloseTo(years, years === 1.49 || years > 2.18 ? 2 : 3);
    expect(first).toBe(lasting);
  });

  test('never: 2600 six times at 15 % are worth 9839.66 of the 10000', () => {
    expect(paybackTime(level(-10000, 2600, 6), 0.15)).toEqual({ first: null, lasting: null });
    expect(paybackTime(level(-10000, 2600, 6), 0.1).lasting).toBeCloseTo(5.1, 2);
  });

  // UC Berkeley, CE167, homework 5 (2008): a later cost brings the balance below 0 again.
  test('where flows turn: the first time and the lasting one', () => {
    const flows = [-180, -90, 0, 100, 100, 100, -90, 100, 100];
    const simple = paybackTime(flows);
    expect(simple.first).toBeCloseTo(4.7, 9);
    // In year 6 the balance falls from 30 to −60; 60 of the 100 of year 7 bring it back.
    expect(simple.lasting).toBeCloseTo(6.6, 9);
    const discounted = paybackTime(flows, 0.05);
    expect(discounted.first).toBeCloseTo(7.219, 3);
    expect(discounted.lasting).toBe(discounted.first);
  });

  test('at once where nothing is paid', () => {
    expect(paybackTime([0, 100])).toEqual({ first: 0, lasting: 0 });
    expect(paybackTime([0, -100, 50])).toEqual({ first: 0, lasting: null });
  });
});

describe('loan', () => {
  // numpy-financial: pmt(0.075/12, 180, 200000), pmt(0.08/12, 60, 15000), pmt(0, 60, 15000)
  test.each([
    [200000, 0.075 / 12, 180, 1854.02472, 5],
    [15000, 0.08 / 12, 60, 304.145914, 6],
    [15000, 0, 60, 250, 9],
  ])('%d at %d over %d', (borrowed, rate, periods, payment, digits) => {
    const payments = annuity(borrowed, rate, periods);
    expect(payments).toHaveLength(periods);
    for (const { interest, repaid } of payments) expect(interest + repaid).toBeCloseTo(payment, digits);
    expect(payments.at(-1)!.owed).toBe(0);
  });

  test('interest and what is paid back', () => {
    // numpy-financial: 12 months of 2500 at 8.24 %
    const year = annuity(2500, 0.0824 / 12, 12);
    expect(year.reduce((sum, { interest }) => sum + interest, 0)).toBeCloseTo(112.98, 2);
    expect(year[0]!.repaid).toBeCloseTo(200.58, 2);
    expect(year[0]!.interest).toBeCloseTo(17.17, 2);
    // ppmt(.1/12, 1, 60, 55000); ppmt(.1/12, 1..4, 24, 2000); ipmt(.1/12, 1, 24, 2000)
    expect(annuity(55000, 0.1 / 12, 60)[0]!.repaid).toBeCloseTo(710.254126, 6);
    const two = annuity(2000, 0.1 / 12, 24);
    expect(two.slice(0, 4).map(({ repaid }) => Number(repaid.toFixed(8)))).toEqual([
      75.62318601, 76.25337923, 76.88882405, 77.52956425,
    ]);
    expect(two[0]!.interest).toBeCloseTo(16.666667, 6);
  });

  // A dealer's fee of a quarter of what is borrowed: 15,000 in cash is 20,000 on credit.
  test('a dealer’s fee raises what is borrowed by its share of the whole', () => {
    expect(borrowedWithFee(15000, 0.25)).toBe(20000);
    expect(borrowedWithFee(15000, 0)).toBe(15000);
  });
});
