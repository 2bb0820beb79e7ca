import type { RoundingMode } from './vocabulary.ts';

/**
 * Money is reckoned in whole units of its last decimal (integers), from the decimals that the tariff and the meter
 * state: 550 × 0.0475 is 26.125 and rounds to 26.13, whatever binary floating point makes of it.
 */

const POWERS = Array.from({ length: 16 }, (_, k) => 10 ** k);
const SAFE = Number.MAX_SAFE_INTEGER;

/** A decimal number: `digits · 10^−scale`. */
export interface Decimal {
  readonly digits: number | bigint;
  readonly scale: number;
}

/** The decimal that a number is written as: 0.0475 is 475 · 10⁻⁴, exactly. */
export function decimalOf(value: number): Decimal {
  if (Number.isInteger(value) && Math.abs(value) < SAFE) return { digits: value, scale: 0 };
  for (let scale = 1; scale <= 9; scale++) {
    const digits = Math.round(value * POWERS[scale]!);
    if (digits / POWERS[scale]! === value && Math.abs(digits) < SAFE) return { digits, scale };
  }
  const [mantissa, exponent = '0'] = String(value).split('e') as [string, string?];
  const [whole, fraction = ''] = mantissa.split('.') as [string, string?];
  const scale = fraction.length - Number(exponent);
  const digits = BigInt(whole + fraction);
  return scale >= 0 ? { digits, scale } : { digits: digits * 10n ** BigInt(-scale), scale: 0 };
}

/** A quantity as a meter shows it, with so many decimals. */
export function decimalQuantity(value: number, decimals: number): Decimal {
  const digits = Math.round(value * POWERS[decimals]!);
  return Math.abs(digits) < SAFE ? { digits, scale: decimals } : decimalOf(digits / POWERS[decimals]!);
}

export const ONE: Decimal = { digits: 1, scale: 0 };

/**
 * `value · rate · times ÷ per`, exactly, then rounded once.
 *
 * @param decimals  of the result
 * @returns whole units of 10^−decimals
 */
export function multiply(
  value: Decimal,
  rate: Decimal,
  times: number,
  per: number,
  decimals: number,
  mode: RoundingMode,
): number {
  const c = decimalOf(times);
  const d = decimalOf(per);
  const scale = value.scale + rate.scale + c.scale - d.scale - decimals;
  if (
    typeof value.digits === 'number' &&
    typeof rate.digits === 'number' &&
    typeof c.digits === 'number' &&
    typeof d.digits === 'number' &&
    scale >= 0 &&
    scale <= 15
  ) {
    const numerator = value.digits * rate.digits * c.digits;
    const denominator = POWERS[scale]! * d.digits;
    if (Math.abs(value.digits * rate.digits) < SAFE && Math.abs(numerator) < SAFE / 4 && denominator < SAFE / 4)
      return roundedQuotient(numerator, denominator, mode);
  }
  let numerator = BigInt(value.digits) * BigInt(rate.digits) * BigInt(c.digits);
  let denominator = BigInt(d.digits);
  if (scale >= 0) denominator *= 10n ** BigInt(scale);
  else numerator *= 10n ** BigInt(-scale);
  return Number(roundedBig(numerator, denominator, mode));
}

function roundedQuotient(numerator: number, denominator: number, mode: RoundingMode): number {
  const sign = numerator < 0 ? -1 : 1;
  const size = Math.abs(numerator);
  const rest = size % denominator;
  const whole = (size - rest) / denominator;
  const twice = 2 * rest;
  const up =
    mode === 'up'
      ? rest > 0
      : mode === 'down'
        ? false
        : twice > denominator || (twice === denominator && (mode === 'half-up' || whole % 2 === 1));
  const result = whole + (up ? 1 : 0);
  return result === 0 ? 0 : sign * result;
}

function roundedBig(numerator: bigint, denominator: bigint, mode: RoundingMode): bigint {
  const sign = numerator < 0n ? -1n : 1n;
  const size = numerator * sign;
  const rest = size % denominator;
  const whole = size / denominator;
  const twice = 2n * rest;
  const up =
    mode === 'up'
      ? rest > 0n
      : mode === 'down'
        ? false
        : twice > denominator || (twice === denominator && (mode === 'half-up' || whole % 2n === 1n));
  return sign * (whole + (up ? 1n : 0n));
}

/** Rounds whole units of 10^−from to whole units of 10^−to, `to ≤ from`. */
export function roundUnits(units: number, from: number, to: number, mode: RoundingMode): number {
  return roundedQuotient(units, POWERS[from - to]!, mode);
}

/**
 * A sum of products, rounded. It was added up in binary: it is cut to 14 digits first, so that 26.125 that came out as
 * 26.124999999999996 still rounds as a half.
 */
export function roundSum(sum: number, decimals: number, mode: RoundingMode): number {
  return multiply(decimalOf(Number(sum.toPrecision(14))), ONE, 1, 1, decimals, mode);
}

/** Whole units of 10^−decimals as a number of money. */
export function moneyOf(units: number, decimals: number): number {
  return units / POWERS[decimals]!;
}

/** A quantity with so many decimals. */
export function roundQuantity(value: number, decimals: number): number {
  return Math.round(value * POWERS[decimals]!) / POWERS[decimals]!;
}
