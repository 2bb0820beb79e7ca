import { check, list, number, type Rule } from '../../input/door.ts';

/** Years of a flow at most: longer than anything of a home lasts. */
const MOST_YEARS = 100;

/** Money of each year, the first one's now: what comes in is above 0, what goes out below. */
export const someFlows: Rule = list(number(), { least: 1, most: MOST_YEARS + 1 });

/** A rate a year, 0.05 for 5 %: money that grows by less than −100 % is none any more. */
export const aRate: Rule = number({ above: -0.99, most: 10 });

/** Years, whole, from 1 on. */
export const someYears: Rule = number({ whole: true, least: 1, most: MOST_YEARS });

/**
 * What flows of money are worth now: each year's divided by (1 + rate)^year, the first one counted as it is.
 *
 * Spreadsheets often count the first flow as a year away; it isn't here.
 *
 * @param flows money of years 0, 1, 2, …; 1 to 101 of them
 * @param rate a year, 0.05 for 5 %, above −0.99
 * @throws InputError
 * @see docs/concepts/economics.md
 * @example presentValue([-100, 60, 60], 0.1) // 4.13…
 */
export function presentValue(flows: readonly number[], rate: number): number {
  check({ flows, rate }, { flows: someFlows, rate: aRate });
  return worthNow(flows, rate);
}

/** {@link presentValue} of flows and a rate that were looked at. */
export function worthNow(flows: readonly number[], rate: number): number {
  let value = 0;
  for (let year = flows.length - 1; year >= 0; year--) value = value / (1 + rate) + flows[year]!;
  return value;
}

/**
 * What a sum of now is in equal parts at the end of each year, interest counted: the capital recovery factor
 * `rate · (1 + rate)^years ÷ ((1 + rate)^years − 1)`, and `1 ÷ years` without interest.
 *
 * @param rate a year, above −0.99
 * @param years 1 to 100, whole
 * @throws InputError
 * @example capitalRecoveryFactor(0.05, 10) // 0.1295…
 */
export function capitalRecoveryFactor(rate: number, years: number): number {
  check({ rate, years }, { rate: aRate, years: someYears });
  return partOf(rate, years);
}

/** {@link capitalRecoveryFactor} per period, of a rate and a count that were looked at. */
export function partOf(rate: number, periods: number): number {
  // (1 + rate)^n − 1 of a small rate has no digits left; its logarithm keeps them.
  return rate === 0 ? 1 / periods : rate / -Math.expm1(-periods * Math.log1p(rate));
}

/**
 * The equal sum a year, at the end of each, that is worth the same as the flows: what plans of other lengths are compared by.
 *
 * @param flows money of years 0, 1, 2, …; 2 to 101 of them
 * @param rate a year, above −0.99
 * @throws InputError
 * @example equivalentAnnual([-1000, 0, 0, 0, 0], 0) // −250
 */
export function equivalentAnnual(flows: readonly number[], rate: number): number {
  check({ flows, rate }, { flows: list(number(), { least: 2, most: MOST_YEARS + 1 }), rate: aRate });
  return worthNow(flows, rate) * partOf(rate, flows.length - 1);
}
