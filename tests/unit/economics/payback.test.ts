import { economicsSchema, simplePayback } from '@duskbank/core/economics';
import { checkDocument } from '@duskbank/core/input';
import { describe, expect, test } from 'vitest';

const unit = { price: 10_000, covers: 'one battery unit, installed' };

describe('simple payback', () => {
  test('is cost over savings a year: 10,000 / 2,600 = 3.846 (engineering-economy textbooks, printed 3.8)', () => {
    expect(simplePayback(unit, 2600, 'the home as metered').years).toBeCloseTo(3.846, 3);
  });

  test('takes a rebate off, and says of what and against what', () => {
    const payback = simplePayback({ ...unit, rebate: 2000 }, 800, 'the home as metered, no battery, same tariff');
    expect(payback.years).toBe(10);
    expect(payback.basis).toBe(
      'simple payback of one battery unit, installed, rebate of 2000 taken off, against the home as metered, no battery, same tariff; no interest, price change or fade counted',
    );
  });

  test('is no number where nothing is saved', () => {
    for (const savings of [0, -50, Number.NaN]) expect(simplePayback(unit, savings, 'none').years).toBeNull();
  });

  test('the section refuses a rebate above the price and a price of nothing', () => {
    const codes = (document: unknown) => {
      const checked = checkDocument(economicsSchema, document);
      return checked.ok ? [] : checked.issues.map((issue) => `${issue.code} ${issue.where.path?.join('.')}`);
    };
    expect(codes({ ...unit, rebate: 10_000 })).toEqual([]);
    expect(codes({ ...unit, rebate: 10_001 })).toEqual(['out-of-range rebate']);
    expect(codes({ price: 0, covers: '' })).toEqual(['out-of-range price', 'out-of-range covers']);
    expect(codes({ price: 1 })).toEqual(['missing covers']);
  });
});
