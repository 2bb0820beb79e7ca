import { civilDayOf, dateOfCivilDay } from '../../axis/index.ts';
import { monthOf } from './languages.ts';

/** Order of the numbers in dates such as 03/04/2026. */
export type DateOrder = 'day-first' | 'month-first' | 'year-first';

const YEAR_FIRST = /^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?!\d)/;
const THREE_NUMBERS = /^(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})(?!\d)/;
const NAMED_MONTH =
  /^(\d{1,2})(?:er|\.|º|°)?[-/. ]*(?:de |di )?([\p{L}\p{M}]{3,12})\.?(?:[-/., ]|de |del )*(\d{4}|\d{2})(?!\d)/iu;
const MONTH_NAMED_FIRST = /^([\p{L}\p{M}]{3,12})\.?[- ](\d{1,2})(?:st|nd|rd|th)?,?[- ](\d{4})(?!\d)/iu;
const COMPACT = /^((?:19|20)\d{2})(\d{2})(\d{2})(?!\d)/;
const NO_YEAR = /^(\d{1,2})\/(\d{1,2})(?=\s|$)|^(\d{1,2})[.-](\d{1,2})\.?(?=\s+\d{1,2}[:h])/;

/** A spreadsheet shows a date so once its year is gone from the cell's format: `16-Jan`. */
const NAMED_NO_YEAR = /^(?<day>\d{1,2})[-/. ]{1,2}(?<month>[\p{L}\p{M}]{3,12})\.?(?=$|,?\s+\d{1,2}[:h])/iu;
/** Without a time behind it, `Jan-16` may be a month of 2016. */
const MONTH_FIRST_NO_YEAR = /^(?<month>[\p{L}\p{M}]{3,12})\.?[- ](?<day>\d{1,2}),?(?=\s+\d{1,2}[:h])/iu;

export interface DateText {
  /**
   * `settled`: year, month, day are known; `numbers`: three numbers whose order the column must settle; `no-year`: two;
   * `day-of-year`: month and day are known, and no year is.
   */
  form: 'settled' | 'numbers' | 'no-year' | 'day-of-year';
  a: number;
  b: number;
  c: number;
}

/** Two-digit years: 70–99 are of the last century, as POSIX has it (strptime, %y: 69–99). */
export function yearOf(printed: number, without: number): number {
  if (printed < 0) return without;
  return printed >= 100 ? printed : printed >= 69 ? 1900 + printed : 2000 + printed;
}

export function isDate(year: number, month: number, day: number): boolean {
  if (!(year >= 1970 && year <= 2200 && month >= 1 && month <= 12 && day >= 1 && day <= 31)) return false;
  return dateOfCivilDay(civilDayOf(year, month, day)).month === month;
}

/** Whether three numbers, or two without a year, are a date under an order of theirs. Four digits of a year stand last. */
export function isDateIn(order: DateOrder, { form, a, b, c }: DateText, year: number): boolean {
  if (order === 'day-first') return isDate(yearOf(c, year), b, a);
  if (order === 'month-first') return isDate(yearOf(c, year), a, b);
  return form === 'numbers' && isDate(yearOf(a, year), b, c);
}

/** The date at the head of a text, and how much of the text it takes. */
export function dateAt(text: string): { date: DateText; length: number } | undefined {
  let match = YEAR_FIRST.exec(text);
  if (match !== null)
    return {
      date: { form: 'settled', a: Number(match[1]), b: Number(match[2]), c: Number(match[3]) },
      length: match[0].length,
    };
  match = THREE_NUMBERS.exec(text);
  if (match !== null)
    return {
      date: { form: 'numbers', a: Number(match[1]), b: Number(match[3]), c: Number(match[4]) },
      length: match[0].length,
    };
  match = NAMED_NO_YEAR.exec(text) ?? MONTH_FIRST_NO_YEAR.exec(text);
  const { day = '', month = '' } = match?.groups ?? {};
  if (match !== null && monthOf(month) > 0)
    return { date: { form: 'day-of-year', a: -1, b: monthOf(month), c: Number(day) }, length: match[0].length };
  match = NAMED_MONTH.exec(text);
  if (match !== null && monthOf(match[2]!) > 0)
    return {
      date: { form: 'settled', a: yearOf(Number(match[3]), 0), b: monthOf(match[2]!), c: Number(match[1]) },
      length: match[0].length,
    };
  match = MONTH_NAMED_FIRST.exec(text);
  if (match !== null && monthOf(match[1]!) > 0)
    return {
      date: { form: 'settled', a: Number(match[3]), b: monthOf(match[1]!), c: Number(match[2]) },
      length: match[0].length,
    };
  match = COMPACT.exec(text);
  if (match !== null)
    return {
      date: { form: 'settled', a: Number(match[1]), b: Number(match[2]), c: Number(match[3]) },
      length: match[0].length,
    };
  match = NO_YEAR.exec(text);
  if (match !== null)
    return {
      date: { form: 'no-year', a: Number(match[1] ?? match[3]), b: Number(match[2] ?? match[4]), c: -1 },
      length: match[0].length,
    };
  return undefined;
}

/** The dates of a column, once it is known which number is the day. */
export interface SettledDates {
  /** For each date id its civil day; NaN where no such day exists. */
  readonly civilDays: Float64Array;
  /** A date as the file writes it. */
  textOf(id: number): string;
}
