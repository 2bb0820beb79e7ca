import { civilDayOf, dateOfCivilDay, formatDate } from '../axis/civil-day.ts';
import { InputError } from '../input/issue.ts';
import { monthOf, StampReader } from '../meter/inside.ts';

/** Two dates in one cell. */
const BOTH_DATES = /^(.*\d.*?)\s*(?:\s[-–—]\s|–|—|\bto\b|\bthrough\b|\bbis\b|\bau\b|\bal?\b|\btot\b)\s*(.*\d.*)$/i;

/** A month alone, as bills of whole months print it: `March 2024`, `03/2024`, `2024-03`. */
const MONTH = /^(?:([\p{L}\p{M}]{3,12})\.?[ -]+|(\d{1,2})[/.-])(\d{4})$|^(\d{4})[/-](\d{1,2})$/u;

/** First and last day of a month that stands alone in a cell. */
function monthOfCell(cell: string): [string, string] | undefined {
  const match = MONTH.exec(cell);
  if (match === null) return undefined;
  const [, name, number, yearBehind, yearFirst, numberBehind] = match;
  const month = name === undefined ? Number(number ?? numberBehind) : monthOf(name);
  const year = Number(yearBehind ?? yearFirst);
  if (!(month >= 1 && month <= 12)) return undefined;
  const next = month === 12 ? civilDayOf(year + 1, 1, 1) : civilDayOf(year, month + 1, 1);
  return [formatDate({ year, month, dayOfMonth: 1 }), formatDate(dateOfCivilDay(next - 1))];
}

/** `Mar-24`, `Mar 24`, `Mar'24`: a month and two digits, which are a day or a year. */
const SHORT_MONTH = /^([\p{L}\p{M}]{3,12})\.?[ '’-]+(\d{2})$/u;

/**
 * Cells such as `Mar-24` with the year written out, where all of them are months then, and follow one another: no day of a month
 * does that, and a lone day is no billing period. Others stay as they are.
 */
export function withWholeYears(cells: readonly string[]): readonly string[] {
  if (cells.length < 2 || !cells.some((cell) => SHORT_MONTH.test(cell))) return cells;
  const written = cells.map((cell) => cell.replace(SHORT_MONTH, '$1 20$2'));
  const months = written.map((cell) => {
    const [year, month] = (monthOfCell(cell)?.[0] ?? '').split('-').map(Number);
    return 12 * year! + month!;
  });
  const step = months[1]! - months[0]!;
  const follow = Math.abs(step) === 1 && months.every((month, k) => k === 0 || month - months[k - 1]! === step);
  return follow ? written : cells;
}

/** Whether a cell is a month and two digits, which may be its year or a day. */
export function isShortMonth(cell: string): boolean {
  return SHORT_MONTH.test(cell);
}

/** The two dates that a cell holds: of a month alone its first and last day; '' in place of a second one that isn't there. */
export function datesOfCell(cell: string): [string, string] {
  const month = monthOfCell(cell);
  if (month !== undefined) return month;
  const both = BOTH_DATES.exec(cell);
  return both === null ? [cell, ''] : [both[1]!.trim(), both[2]!.trim()];
}

/** Days that a bill may have: a final one of a few, or a whole year. */
const BILL_DAYS = { least: 5, most: 400 };

type Order = 'day-first' | 'month-first';

/** All bills as their dates read in one order of day and month. */
interface Reading {
  readonly order: Order;
  /** First and last day of each; NaN where a cell is no date in that order. */
  readonly days: readonly (readonly [number, number])[];
}

/** Whether every cell is a date. */
const areDates = ({ days }: Reading) => days.flat().every((day) => !Number.isNaN(day));

/** Whether every bill is as long as bills are. */
const areBills = ({ days }: Reading) =>
  days.every(([start, end]) => end - start + 1 >= BILL_DAYS.least && end - start + 1 <= BILL_DAYS.most);

/** How many begin on the day on which the one before ends, or on the next; of dates that make no bills none. */
const following = (reading: Reading) =>
  areBills(reading)
    ? reading.days.filter(([start], k) => k > 0 && [0, 1].includes(start - reading.days[k - 1]![1])).length
    : 0;

/** What tells one order from the other, the surest sign first. */
const SIGNS: readonly ((reading: Reading) => number | boolean)[] = [areDates, areBills, following];

/** The order that a sign speaks for; undefined where none tells them apart. */
function surerOf(one: Reading, other: Reading): Order | undefined {
  for (const sign of SIGNS) {
    const [ofOne, ofOther] = [Number(sign(one)), Number(sign(other))];
    if (ofOne !== ofOther) return ofOne > ofOther ? one.order : other.order;
  }
  return undefined;
}

/**
 * First and last days as dates; undefined where a cell holds none. One order of day and month for all of them: dates with
 * points have the day first; others are read so that bills are as long as bills are and follow one another.
 */
export function datesOf(ends: readonly (readonly [string, string])[], file: string): [string?, string?][] {
  const stamps = new StampReader();
  const ids = ends.map(([start, end]) => [stamps.readDate(start), stamps.readDate(end)] as const);
  const daysIn = (order: Order | undefined) => stamps.settle(order, Number.NaN, ids.flat()).civilDays;
  const readIn = (order: Order): Reading => {
    const civilDays = daysIn(order);
    return {
      order,
      days: ids.map(([start, end]) => [civilDays[start] ?? Number.NaN, civilDays[end] ?? Number.NaN]),
    };
  };
  const dayFirst = readIn('day-first');
  const monthFirst = readIn('month-first');
  const monthFirstDays = monthFirst.days.flat();
  const same = dayFirst.days.flat().every((day, k) => Object.is(day, monthFirstDays[k]));
  const dotted = ends.flat().some((cell) => /^\d{1,2}\.\d{1,2}\.\d{2,4}$/.test(cell));
  // Where neither gives dates, some cell holds none: that is told by its line.
  const hopeless = !areDates(dayFirst) && !areDates(monthFirst);
  const order = same || dotted ? 'day-first' : surerOf(dayFirst, monthFirst);
  if (order === undefined && !hopeless)
    throw new InputError([
      {
        code: 'ambiguous-date',
        where: { file },
        received: 'dates whose day and month can’t be told apart',
        expected: 'dates such as "2026-03-31"',
        hint: 'write the year first',
      },
    ]);
  const civilDays = daysIn(order);
  const dateOf = (id: number) => {
    const day = civilDays[id];
    return day === undefined || Number.isNaN(day) ? undefined : formatDate(dateOfCivilDay(day));
  };
  return ids.map(([start, end]) => [dateOf(start), dateOf(end)]);
}
