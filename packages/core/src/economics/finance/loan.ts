import { check, number } from '../../input/door.ts';
import { partOf } from './present-value.ts';

/** Payments of a loan at most: a hundred years of months. */
const MOST_PERIODS = 1200;

/** One payment of a loan, money. */
export interface LoanPayment {
  readonly interest: number;
  /** What of the payment pays the loan back. */
  readonly repaid: number;
  /** What is owed after it. */
  readonly owed: number;
}

/**
 * The payments of an annuity: the same sum at the end of each period, `borrowed · rate ÷ (1 − (1 + rate)^−periods)`. Not rounded:
 * a lender rounds each payment to the cent and puts the rest into the last.
 *
 * @param borrowed money, ≥ 0
 * @param ratePerPeriod 0.06 / 12 for 6 % a year in monthly payments; 0 for none; less than 1
 * @param periods 1 to 1,200, whole
 * @throws InputError
 * @see docs/concepts/economics.md
 * @example annuity(15000, 0.08 / 12, 60)[0] // { interest: 100, repaid: 204.14…, owed: 14795.85… }
 */
export function annuity(borrowed: number, ratePerPeriod: number, periods: number): LoanPayment[] {
  check(
    { borrowed, ratePerPeriod, periods },
    {
      borrowed: number({ least: 0 }),
      ratePerPeriod: number({ least: 0, below: 1 }),
      periods: number({ whole: true, least: 1, most: MOST_PERIODS }),
    },
  );
  const payment = borrowed * partOf(ratePerPeriod, periods);
  const payments: LoanPayment[] = [];
  let owed = borrowed;
  for (let period = 1; period <= periods; period++) {
    const interest = owed * ratePerPeriod;
    // What the payments still to come are worth then: taken from one period to the next, rounding would grow with interest.
    const left = period === periods ? 0 : payment / partOf(ratePerPeriod, periods - period);
    payments.push({ interest, repaid: owed - left, owed: left });
    owed = left;
  }
  return payments;
}

/**
 * What a loan comes to whose dealer takes a share of it: a price that is lower in cash is borrowed in full, and more besides.
 *
 * @param cash money that the dealer must be left with, ≥ 0
 * @param feeShare of what is borrowed, 0 to below 1
 * @returns what is borrowed: `cash ÷ (1 − feeShare)`
 * @throws InputError
 * @example borrowedWithFee(15000, 0.25) // 20000
 */
export function borrowedWithFee(cash: number, feeShare: number): number {
  check({ cash, feeShare }, { cash: number({ least: 0 }), feeShare: number({ least: 0, most: 0.99 }) });
  return cash / (1 - feeShare);
}
