import { civilDayOf, civilDayOfDate, dateOfCivilDay, formatDate } from '../axis/civil-day.ts';
import { InputError } from '../input/issue.ts';
import { monthOf } from '../meter/inside.ts';

/** First and last day of the data, `2026-03-31`: what dates that state no year are held against. */
export interface DataDays {
  readonly firstDay: string;
  readonly lastDay: string;
}

/** A day without its year; day 0 is the month alone. */
interface YearDay {
  readonly month: number;
  readonly day: number;
}

type Order = 'day-first' | 'month-first';

const DAY_NAMED = /^(\d{1,2})(?:st|nd|rd|th|\.|º)?[ /-]*(?:de )?([\p{L}\p{M}]{3,12})\.?$/u;
const NAMED_DAY = /^([\p{L}\p{M}]{3,12})\.?[ /-]+(\d{1,2})(?:st|nd|rd|th)?$/u;
const NAMED = /^([\p{L}\p{M}]{3,12})\.?$/u;
const NUMBERS = /^(\d{1,2})[/.-](\d{1,2})\.?$/;

/** What a cell holds of a date without its year, its numbers taken in an order; undefined where it holds another thing. */
function yearDayOf(cell: string, order: Order): YearDay | undefined {
  const text = cell.trim();
  const named = DAY_NAMED.exec(text);
  if (named !== null) return checked(monthOf(named[2]!), Number(named[1]));
  const behind = NAMED_DAY.exec(text);
  if (behind !== null) return checked(monthOf(behind[1]!), Number(behind[2]));
  const alone = NAMED.exec(text);
  if (alone !== null) return checked(monthOf(alone[1]!), 0);
  const numbers = NUMBERS.exec(text);
  if (numbers === null) return undefined;
  const [a, b] = [Number(numbers[1]), Number(numbers[2])];
  return order === 'day-first' ? checked(b, a) : checked(a, b);
}

function checked(month: number, day: number): YearDay | undefined {
  return month >= 1 && month <= 12 && day >= 0 && day <= 31 ? { month, day } : undefined;
}

/** Whether a cell is the name of a month and nothing else. */
export function isMonthName(cell: string): boolean {
  const match = NAMED.exec(cell.trim());
  return match !== null && monthOf(match[1]!) > 0;
}

/** Days that a bill may have where its year is looked for. */
const BILL_DAYS = { least: 5, most: 100 };

/**
 * Bills whose dates state no year, with it: where one year alone puts them within the data. A bill that ends earlier in the year
 * than it begins runs over the new year, and so does a row that begins earlier than the one above it.
 *
 * @returns the dates in full and what is to be said of it; undefined where the cells hold another thing
 * @throws InputError where no year fits, or several do, or nothing tells the day from the month
 */
export function withYears(
  ends: readonly (readonly [string, string])[],
  file: string,
  within: DataDays | undefined,
): { readonly ends: readonly [string, string][]; readonly note: string } | undefined {
  const orders = (['day-first', 'month-first'] as const).filter((order) =>
    ends.flat().every((cell) => yearDayOf(cell, order) !== undefined),
  );
  if (ends.length === 0 || orders.length === 0) return undefined;
  const found = new Map<string, readonly [string, string][]>();
  if (within !== undefined)
    for (const order of orders)
      for (let year = Number(within.firstDay.slice(0, 4)) - 1; year <= Number(within.lastDay.slice(0, 4)); year++) {
        const dates = from(ends, order, year);
        if (dates?.some(([start, end]) => start >= within.firstDay && end <= within.lastDay))
          found.set(JSON.stringify(dates), dates);
      }
  if (found.size !== 1)
    throw new InputError([
      {
        code: 'ambiguous-date',
        where: { file },
        received: 'dates without a year',
        expected: 'dates with their year, such as "2026-03-31"',
        hint:
          within === undefined
            ? 'write the year first, with four digits'
            : `the data hold ${within.firstDay} to ${within.lastDay}, and ${found.size === 0 ? 'no year puts' : 'more than one year, or order of day and month, puts'} these bills within them: write the year first, with four digits`,
      },
    ]);
  const [dates] = [...found.values()];
  return {
    ends: dates!,
    note: `The bills’ dates state no year: they were taken to begin on ${dates![0]![0]}, for no other year puts them within the data.`,
  };
}

/** The bills from a year on; undefined where that makes no days, or no bills. */
function from(ends: readonly (readonly [string, string])[], order: Order, firstYear: number) {
  const days = ends.map(([start, end]) => [yearDayOf(start, order)!, yearDayOf(end, order)!] as const);
  const backwards = days.length > 1 && days.slice(1).every(([start], k) => falls(days[k]![0], start));
  let year = firstYear;
  const dates: [string, string][] = [];
  const inOrder = backwards ? [...days].reverse() : days;
  for (const [k, [start, end]] of inOrder.entries()) {
    const before = inOrder[k - 1]?.[0];
    if (before !== undefined && compare(start, before) < 0) year += 1;
    const first = dateOf(start, year, false);
    const last = dateOf(end, compare(end, start) < 0 && end.day !== 0 ? year + 1 : year, true);
    if (first === undefined || last === undefined) return undefined;
    const length = civilDayOfDate(last) - civilDayOfDate(first) + 1;
    if (length < BILL_DAYS.least || length > BILL_DAYS.most) return undefined;
    dates.push([first, last]);
  }
  return backwards ? dates.reverse() : dates;
}

const compare = (a: YearDay, b: YearDay) => 32 * a.month + a.day - (32 * b.month + b.day);

/** Whether one row begins less than half a year before the one above it: rows that have the newest bill first. */
function falls(above: YearDay, below: YearDay): boolean {
  const months = (above.month - below.month + 12) % 12;
  return (months > 0 && months < 6) || (months === 0 && above.day > below.day);
}

function dateOf({ month, day }: YearDay, year: number, isEnd: boolean): string | undefined {
  if (day === 0) {
    const next = month === 12 ? civilDayOf(year + 1, 1, 1) : civilDayOf(year, month + 1, 1);
    return formatDate(isEnd ? dateOfCivilDay(next - 1) : { year, month, dayOfMonth: 1 });
  }
  const date = dateOfCivilDay(civilDayOf(year, month, day));
  return date.month === month ? formatDate(date) : undefined;
}
