import { bisect } from 'simple-statistics';
import { check } from '../../input/door.ts';
import { someFlows } from './present-value.ts';

/** The internal rate of return of flows, where it is one number. */
export type InternalRate =
  | { readonly kind: 'one'; readonly rate: number }
  /** No rate makes the flows worth nothing: all go one way, or what comes never makes up for what goes. */
  | { readonly kind: 'none' }
  /** Flows that turn more than once may be worth nothing at several rates, and then none of them says anything. */
  | { readonly kind: 'several'; readonly rates: readonly number[] };

/** Money is counted to this, so that whether there is one rate is decided in whole numbers. */
const GRAIN = 1e-6;

/** Halvings that tell rates from each other; nearer ones are taken for one that is met twice. */
const DEEPEST = 40;

/**
 * The rate a year at which flows are worth nothing now, refused where it isn't one number.
 *
 * How many such rates there are above −100 % is counted, not guessed: Descartes' rule of signs on ever smaller stretches
 * (Vincent, Collins and Akritas, from memory), in whole numbers, so that nothing is lost to rounding. Each is then closed in
 * by halving. A rate that the flows only touch, without a change of sign, is no one number: it is told among several.
 *
 * @param flows money of years 0, 1, 2, …; 1 to 101 of them, counted to a millionth
 * @throws InputError
 * @see docs/concepts/economics.md
 * @example internalRateOfReturn([-100, 39, 59, 55, 20]) // { kind: 'one', rate: 0.28… }
 */
export function internalRateOfReturn(flows: readonly number[]): InternalRate {
  check({ flows }, { flows: someFlows });
  const counted = flows.map((flow) => BigInt(Math.round(flow / GRAIN)));
  if (variations(counted) === 0) return { kind: 'none' };
  // With v = 1/(1 + rate) the flows are a polynomial in v: v < 1 is a rate above 0, 1/v < 1 one below.
  const above = rootsBelowOne(counted);
  const below = rootsBelowOne([...counted].reverse());
  const atNothing = counted.reduce((sum, coefficient) => sum + coefficient, 0n) === 0n;
  const rates = [
    ...below.map((stretch) => settle([...counted].reverse(), stretch) - 1),
    ...(atNothing ? [0] : []),
    ...above.map((stretch) => 1 / settle(counted, stretch) - 1).reverse(),
  ];
  const touched = [...above, ...below].some(({ sure }) => !sure);
  if (rates.length === 0) return { kind: 'none' };
  return rates.length === 1 && !touched ? { kind: 'one', rate: rates[0]! } : { kind: 'several', rates };
}

/** A stretch of (0, 1) with one root in it; not sure where it is too short to tell one from two. */
interface Stretch {
  readonly low: number;
  readonly high: number;
  readonly sure: boolean;
}

/** Stretches of (0, 1) that hold the roots of a polynomial, its coefficients from the constant one on; in rising order. */
function rootsBelowOne(coefficients: readonly bigint[]): Stretch[] {
  const found: Stretch[] = [];
  const look = (own: readonly bigint[], low: number, width: number, depth: number) => {
    const most = variations(shifted([...own].reverse()));
    if (most === 0) return;
    if (most === 1) {
      found.push({ low, high: low + width, sure: true });
      return;
    }
    if (depth === DEEPEST) {
      found.push({ low, high: low + width, sure: false });
      return;
    }
    // The halves, each stretched to (0, 1): 2^n · p(x/2), and the same from 1 on.
    const n = own.length - 1;
    const left = own.map((coefficient, k) => coefficient << BigInt(n - k));
    const right = shifted(left);
    look(left, low, width / 2, depth + 1);
    if (right[0] === 0n) found.push({ low: low + width / 2, high: low + width / 2, sure: right[1] !== 0n });
    look(right, low + width / 2, width / 2, depth + 1);
  };
  look(coefficients, 0, 1, 0);
  return found;
}

/** The coefficients of p(x + 1). */
function shifted(coefficients: readonly bigint[]): bigint[] {
  const out = [...coefficients];
  for (let from = 0; from < out.length - 1; from++)
    for (let k = out.length - 2; k >= from; k--) out[k] = out[k]! + out[k + 1]!;
  return out;
}

/** How often the sign changes from one coefficient to the next, zeros left out. */
function variations(coefficients: readonly bigint[]): number {
  let count = 0;
  let last = 0n;
  for (const coefficient of coefficients) {
    if (coefficient === 0n) continue;
    if (last !== 0n && coefficient > 0n !== last > 0n) count++;
    last = coefficient;
  }
  return count;
}

/** The root within a stretch. */
function settle(coefficients: readonly bigint[], { low, high, sure }: Stretch): number {
  if (low === high || !sure) return (low + high) / 2;
  const values = coefficients.map(Number);
  const at = (x: number) => {
    let value = 0;
    for (let k = values.length - 1; k >= 0; k--) value = value * x + values[k]!;
    return value;
  };
  // The ends are no roots; within rounding of one, the sign just inside counts.
  const inside = (high - low) * 1e-15;
  return bisect(at, low + inside, high - inside, 200, 1e-16);
}
