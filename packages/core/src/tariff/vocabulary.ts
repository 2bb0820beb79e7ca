/** Words that the tariff file's format and the computation share. */

/** Days of the week as tariffs name them, Monday first. */
export const WEEKDAYS = ['monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday', 'sunday'] as const;

/** Lists that many tariffs share; `us-six` and `us-eight` are the off-peak holidays of most American time-of-use rates. */
export const HOLIDAY_SETS = ['us-federal', 'us-six', 'us-eight'] as const;

/** How dispatch sees a window. */
export const WINDOW_KINDS = ['peak', 'shoulder', 'off-peak', 'flat'] as const;
export type WindowKind = (typeof WINDOW_KINDS)[number];

/** Kinds of lines that a percentage or a minimum bill may name, in the order in which a bill has them. */
export const CHARGE_KINDS = ['energy', 'export', 'demand', 'fixed', 'rebate', 'adjustment', 'minimum', 'tax'] as const;
export type ChargeKind = (typeof CHARGE_KINDS)[number];

/** Kinds of lines that a bill may have: charges, credit carried on from bill to bill, and what rounding its total adds. */
export type LineKind = ChargeKind | 'carry' | 'rounding';

/** Where money is rounded. */
export const ROUNDING_PLACES = ['line', 'bill', 'never'] as const;

/** How money is rounded: halves away from zero, halves to even, towards zero, away from zero. */
export const ROUNDING_MODES = ['half-up', 'half-even', 'down', 'up'] as const;
export type RoundingMode = (typeof ROUNDING_MODES)[number];

/** The list that a field stands for which takes one value or several. */
export function asList<T>(value: T | readonly T[] | undefined): readonly T[] {
  if (value === undefined) return [];
  return Array.isArray(value) ? value : [value as T];
}
