import { CAUSE_WORDS } from '../words/causes.ts';
import { type Fact, fact } from '../words/fact.ts';
import type { BillPair } from './causes.ts';

/** Money: two cents and 0.001, what rounding line by line makes. */
const SLACK = 0.021;
/** A hundred, and how far prices may be from those charged for amounts to be cents all the same. */
const CENTS = 100;
const CENTS_SPREAD = 1.5;
/** Amounts with decimals are cents only where they are a hundred times ours to this share: prices may be in another unit too. */
const CENTS_SHARE = 0.02;

/** How many times apart two amounts are, from their ratio; of other signs, infinitely. */
const spread = (ratio: number) => (ratio > 0 ? Math.max(ratio, 1 / ratio) : Number.POSITIVE_INFINITY);

/** What is wrong with how all amounts are written; undefined where nothing is. */
export function amountsWritten(pairs: readonly BillPair[], currency: string): Fact | undefined {
  const near = (times: number, spread: number) =>
    pairs.every(({ bill, own }) => {
      if (own.total === 0 || bill.total === 0) return false;
      const ratio = bill.total / own.total / times;
      return ratio > 0 && (Math.max(ratio, 1 / ratio) <= spread || Math.abs(bill.total / times - own.total) <= SLACK);
    });
  const actual = pairs.reduce((sum, { bill }) => sum + bill.total, 0);
  const ours = pairs.reduce((sum, { own }) => sum + own.total, 0);
  const whole = pairs.every(({ bill }) => Number.isInteger(bill.total));
  if (near(CENTS, 1 + CENTS_SHARE) || (whole && near(CENTS, CENTS_SPREAD)))
    return fact(CAUSE_WORDS, 'amounts-in-cents', 'question', {
      bills: pairs.length,
      currency,
      times: actual / ours,
      restShare: actual / CENTS / ours - 1,
    });
  const turned = pairs.filter(
    ({ bill, own }) => own.total > 0 && bill.total < 0 && spread(-bill.total / own.total) <= CENTS_SPREAD,
  );
  const [first] = turned;
  // A credit that is no payment is far from what was reckoned; where the others are too, nothing is known of either.
  const others = pairs.filter((pair) => !turned.includes(pair));
  if (first !== undefined && others.every(({ bill, own }) => spread(bill.total / own.total) <= CENTS_SPREAD))
    return fact(CAUSE_WORDS, 'amounts-negative', 'question', {
      bills: turned.length,
      ofBills: pairs.length,
      start: first.bill.start,
    });
  return undefined;
}

/** Of all that was reckoned, what bills are off one by one: less is rounding and what changes from month to month. */
const LEAST_SHARE = 0.02;
/** Fewer bills cancel by chance. */
const LEAST_CANCELLING = 3;
/** Of what they are off one by one, what is left of it together. */
const CANCELLED_SHARE = 0.2;
/** Of a bill, what may lie in the one beside it: about a week. More isn't the day of a reading. */
const CARRIED_SHARE = 0.25;

/**
 * Whether bills are off one way and the other so that they nearly cancel: days that lie in the wrong bill do that, a charge that is
 * missing or in the wrong unit never does.
 */
export function misdated(pairs: readonly BillPair[]): Fact | undefined {
  const off = pairs.map(({ bill, own }) => bill.total - own.total);
  const ours = pairs.reduce((sum, { own }) => sum + Math.abs(own.total), 0);
  const each = off.reduce((sum, difference) => sum + Math.abs(difference), 0);
  const together = Math.abs(off.reduce((sum, difference) => sum + difference, 0));
  // What lies in the wrong bill at the end of each: a season's price would pile up.
  const mean = ours / pairs.length;
  let carried = 0;
  for (const difference of off) {
    carried += difference;
    if (Math.abs(carried) > CARRIED_SHARE * mean) return undefined;
  }
  if (pairs.length < LEAST_CANCELLING || !(each > LEAST_SHARE * ours) || together > CANCELLED_SHARE * each)
    return undefined;
  return fact(CAUSE_WORDS, 'misdated', 'question', {
    bills: pairs.length,
    eachShare: each / ours,
    totalShare: together / ours,
  });
}
