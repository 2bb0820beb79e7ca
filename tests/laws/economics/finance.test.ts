import {
  annuity,
  capitalRecoveryFactor,
  equivalentAnnual,
  internalRateOfReturn,
  paybackTime,
  presentValue,
  rainflow,
} from '@duskbank/core/economics';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

/** Cents, so that sums of them are exact enough to compare. */
const money = (min: number, max: number) => fc.integer({ min: min * 100, max: max * 100 }).map((cents) => cents / 100);
const cost = money(1, 50_000);
const savings = fc.array(money(0, 5000), { minLength: 1, maxLength: 30 });
const rate = fc.double({ min: -0.2, max: 0.5, noNaN: true });
const flows = fc.array(money(-20_000, 20_000), { minLength: 1, maxLength: 25 });

describe('flows', () => {
  test('payback takes longer where the price is higher, or savings are smaller', () => {
    fc.assert(
      fc.property(cost, cost, savings, fc.double({ min: 0, max: 0.2, noNaN: true }), (one, other, saved, interest) => {
        const of = (paid: number, share = 1) =>
          paybackTime([-paid, ...saved.map((sum) => share * sum)], interest).lasting ?? Number.POSITIVE_INFINITY;
        expect(of(Math.max(one, other))).toBeGreaterThanOrEqual(of(Math.min(one, other)) - 1e-9);
        expect(of(one, 0.9)).toBeGreaterThanOrEqual(of(one) - 1e-9);
      }),
    );
  });

  test('the balance is at 0 when they have paid back, and never below it after the lasting time', () => {
    fc.assert(
      fc.property(flows, rate, (given, interest) => {
        const { first, lasting } = paybackTime(given, interest);
        const balance = (years: number) => {
          const whole = Math.floor(years);
          const part = years - whole;
          const worth = (year: number) => (given[year] ?? 0) * (1 + interest) ** -year;
          let sum = 0;
          for (let year = 0; year <= whole; year++) sum += worth(year);
          return sum + part * worth(whole + 1);
        };
        const size = given.reduce((sum, flow, year) => sum + Math.abs(flow) * (1 + interest) ** -year, 1);
        if (lasting === null) {
          expect(balance(given.length - 1)).toBeLessThanOrEqual(1e-9 * size);
          return;
        }
        expect(first!).toBeLessThanOrEqual(lasting);
        if (lasting > 0) expect(Math.abs(balance(lasting))).toBeLessThan(1e-9 * size);
        for (let year = Math.ceil(lasting); year < given.length; year++)
          expect(balance(year)).toBeGreaterThanOrEqual(-1e-9 * size);
      }),
    );
  });

  test('without interest discounted payback is the simple one, and worth is the plain sum', () => {
    fc.assert(
      fc.property(flows, (given) => {
        expect(paybackTime(given, 0)).toEqual(paybackTime(given));
        expect(presentValue(given, 0)).toBeCloseTo(
          given.reduce((sum, flow) => sum + flow, 0),
          6,
        );
      }),
    );
  });

  test('at their internal rate they are worth nothing, whatever kind they are of', () => {
    fc.assert(
      fc.property(flows, (given) => {
        const found = internalRateOfReturn(given);
        const turns = given
          .filter((flow) => flow !== 0)
          .reduce((count, flow, k, all) => count + (k > 0 && flow > 0 !== all[k - 1]! > 0 ? 1 : 0), 0);
        if (found.kind === 'none') {
          expect(turns % 2).toBe(0);
          return;
        }
        const rates = found.kind === 'one' ? [found.rate] : found.rates;
        // Descartes: no more than the changes of sign, and as odd as they are, a rate that is only touched counted twice.
        expect(rates.length).toBeLessThanOrEqual(turns);
        for (const at of rates) {
          const discount = 1 / (1 + at);
          // Large discounts by their inverse, so that nothing overflows.
          const power = (year: number) => (discount <= 1 ? discount ** year : discount ** (year - given.length));
          const worth = given.reduce((sum, flow, year) => sum + flow * power(year), 0);
          const size = given.reduce((sum, flow, year) => sum + Math.abs(flow) * power(year), 0);
          expect(Math.abs(worth)).toBeLessThan(1e-8 * size);
        }
        if (found.kind === 'one' && turns % 2 === 1) {
          // The one root is a change of sign: dear money makes the first flow count, cheap money the last.
          const sign = (interest: number) => Math.sign(presentValue(given, interest));
          const shown = given.filter((flow) => flow !== 0);
          if (found.rate < 5) expect(sign(Math.min(10, found.rate + 4))).toBe(Math.sign(shown[0]!));
        }
      }),
    );
  });

  test('a loan at the rate by which flows are discounted changes nothing of their worth', () => {
    fc.assert(
      fc.property(
        flows.filter(({ length }) => length > 1),
        cost,
        fc.integer({ min: 1, max: 24 }),
        fc.double({ min: 0, max: 0.3, noNaN: true }),
        (given, borrowed, years, interest) => {
          const payments = annuity(borrowed, interest, years);
          const withLoan = Array.from({ length: Math.max(given.length, years + 1) }, (_, year) => given[year] ?? 0);
          withLoan[0] = withLoan[0]! + borrowed;
          for (const [k, { interest: paid, repaid }] of payments.entries())
            withLoan[k + 1] = withLoan[k + 1]! - paid - repaid;
          expect(presentValue(withLoan, interest)).toBeCloseTo(presentValue(given, interest), 5);
        },
      ),
    );
  });

  test('a loan is paid back in full, by equal sums', () => {
    fc.assert(
      fc.property(
        cost,
        fc.integer({ min: 1, max: 480 }),
        fc.double({ min: 0, max: 0.03, noNaN: true }),
        (sum, n, each) => {
          const payments = annuity(sum, each, n);
          expect(payments.reduce((paid, { repaid }) => paid + repaid, 0)).toBeCloseTo(sum, 5);
          const [first] = payments;
          for (const { interest, repaid } of payments)
            expect(interest + repaid).toBeCloseTo(first!.interest + first!.repaid, 5);
        },
      ),
    );
  });

  test('equal parts a year are worth what the flows are', () => {
    fc.assert(
      fc.property(
        flows.filter(({ length }) => length > 1),
        rate,
        (given, interest) => {
          const part = equivalentAnnual(given, interest);
          const parts = given.map((_, year) => (year === 0 ? 0 : part));
          const size = given.reduce((sum, flow, year) => sum + Math.abs(flow) * (1 + interest) ** -year, 1);
          expect(Math.abs(presentValue(parts, interest) - presentValue(given, interest))).toBeLessThan(1e-9 * size);
          expect(capitalRecoveryFactor(interest, given.length - 1)).toBeGreaterThan(0);
        },
      ),
    );
  });
});

describe('rainflow', () => {
  const series = fc
    .array(fc.integer({ min: -50, max: 50 }), { maxLength: 200 })
    .map((values) => Float64Array.from(values));

  test('every turn is counted: ranges, whole ones twice, add up to all the way that the series goes', () => {
    fc.assert(
      fc.property(series, (values) => {
        let way = 0;
        for (let i = 1; i < values.length; i++) way += Math.abs(values[i]! - values[i - 1]!);
        expect(rainflow(values).reduce((sum, { range, count }) => sum + 2 * range * count, 0)).toBe(way);
      }),
    );
  });

  test('the widest cycle spans the whole range, and points between turns change nothing', () => {
    fc.assert(
      fc.property(series, (values) => {
        const cycles = rainflow(values);
        const all = [...values];
        const spread = all.length === 0 ? 0 : Math.max(...all) - Math.min(...all);
        expect(Math.max(0, ...cycles.map(({ range }) => range))).toBe(spread);
        const finer = Float64Array.from(
          all.flatMap((value, i) => (i === 0 ? [value] : [(all[i - 1]! + value) / 2, value])),
        );
        const plain = (of: readonly { range: number; mean: number; count: number }[]) =>
          of.map(({ range, mean, count }) => [range, mean, count]);
        expect(plain(rainflow(finer))).toEqual(plain(cycles));
      }),
    );
  });
});
