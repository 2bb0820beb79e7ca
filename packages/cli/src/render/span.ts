import type { AxisPart } from '@duskbank/core/study';
import { fixed } from './numbers.ts';

/** The one time that all money and energy of a screen is of. */
export interface Span {
  /** What a sum over the data is multiplied with. */
  readonly factor: number;
  /** `a year`, or `in 90 days`. */
  readonly words: string;
  /** The same over a column: `a year`, or `90 days`. */
  readonly head: string;
  /** How sums over the data became these figures, where they aren't the sums themselves. */
  readonly note: string | undefined;
}

/** A year, where the data cover one; else the data's days. */
export function spanOf({ spanDays, perYear, isYear }: AxisPart): Span {
  if (!isYear)
    return { factor: 1, words: `in ${fixed(spanDays, 0)} days`, head: `${fixed(spanDays, 0)} days`, note: undefined };
  if (perYear === 1) return { factor: 1, words: 'a year', head: 'a year', note: undefined };
  const years = 1 / perYear;
  const scaled =
    Math.abs(years - Math.round(years)) < 1e-9 && spanDays === Math.round(spanDays)
      ? `divided by ${Math.round(years)}`
      : `× 365.25 ÷ ${days(spanDays)}`;
  return {
    factor: perYear,
    words: 'a year',
    head: 'a year',
    note: `Money and kWh are a year’s: what the data’s ${days(spanDays)} days come to, ${scaled}.`,
  };
}

function days(spanDays: number): string {
  return fixed(spanDays, Number.isInteger(spanDays) ? 0 : 2);
}
