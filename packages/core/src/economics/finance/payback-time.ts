import { check } from '../../input/door.ts';
import { aRate, someFlows } from './present-value.ts';

/** When what was paid has come back, years from now; null where it doesn't within the flows. */
export interface PaybackTime {
  /** The balance is at 0 for the first time. Later costs, such as a part that is replaced, may bring it below again. */
  readonly first: number | null;
  /** From here on the balance stays at 0 or above: the one to tell a household. */
  readonly lasting: number | null;
}

/**
 * When flows have paid back what was paid before: simple payback at a rate of 0, discounted payback above. A year's money comes in
 * evenly over it, so that the time within a year is by proportion.
 *
 * @param flows money of years 0, 1, 2, …; 1 to 101 of them
 * @param rate a year, above −0.99
 * @throws InputError
 * @see docs/concepts/economics.md
 * @example paybackTime([-5200, 2800, 3700, 5100, 4300], 0.14) // { first: 1.96…, lasting: 1.96… }
 */
export function paybackTime(flows: readonly number[], rate = 0): PaybackTime {
  check({ flows, rate }, { flows: someFlows, rate: aRate });
  let balance = flows[0]!;
  let first: number | null = balance >= 0 ? 0 : null;
  let lasting = first;
  for (let year = 1; year < flows.length; year++) {
    const before = balance;
    const worth = flows[year]! / (1 + rate) ** year;
    balance += worth;
    if (balance < 0) lasting = null;
    else if (before < 0) {
      lasting = year - 1 - before / worth;
      first ??= lasting;
    }
  }
  return { first, lasting };
}
