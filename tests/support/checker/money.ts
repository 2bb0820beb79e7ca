import { Decimal } from 'decimal.js';
import type { Document } from './days.ts';

/** Forty digits: more than any sum here needs, so that a half is a half. */
export const Exact = Decimal.clone({ precision: 40 });
export type Exact = Decimal;

/** Decimals of a currency, ISO 4217 (from memory); only those that the panel uses are not two. */
const DECIMALS: Readonly<Record<string, number>> = { JPY: 0, KRW: 0, KWD: 3, BHD: 3 };

const MODES: Readonly<Record<string, Decimal.Rounding>> = {
  'half-up': Decimal.ROUND_HALF_UP,
  'half-even': Decimal.ROUND_HALF_EVEN,
  down: Decimal.ROUND_DOWN,
  up: Decimal.ROUND_UP,
};

/** How a tariff rounds. */
export interface Rounding {
  readonly at: string;
  readonly money: (value: Decimal) => Decimal;
  readonly energy: (value: number) => Decimal;
}

export function roundingOf(tariff: Document): Rounding {
  const rule = (tariff.rounding ?? {}) as Document;
  const mode = MODES[(rule.mode as string) ?? 'half-up']!;
  const decimals = Number(rule.decimals ?? DECIMALS[tariff.currency as string] ?? 2);
  const energyDecimals = Number(rule.energyDecimals ?? 6);
  return {
    at: (rule.at as string) ?? 'line',
    money: (value) => value.toDecimalPlaces(decimals, mode),
    // `mode` is how money is rounded; energy goes to the nearest.
    energy: (value) => stated(value).toDecimalPlaces(energyDecimals, Decimal.ROUND_HALF_UP),
  };
}

/**
 * A sum of readings as the decimals that it stands for: readings have a few decimals, and the ninth is far below any of
 * them and far above what adding them in binary loses.
 */
export function stated(value: number): Decimal {
  return new Exact(value).toDecimalPlaces(9, Decimal.ROUND_HALF_UP);
}
