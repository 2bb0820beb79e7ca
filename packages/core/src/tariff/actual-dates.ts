import { civilDayOf, civilDayOfDate, dateOfCivilDay, formatDate } from '../axis/civil-day.ts';
import { InputError } from '../input/issue.ts';
import { monthOf, StampReader } from '../meter/inside.ts';
import { type DataDays, isMonthName, withYears } from './yearless-dates.ts';

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

/** `Mar-24`, `Mar 24`, `Mar'24`: a month and two digits, which are a day or a year; so is `24-Mar`, as spreadsheets show either. */
const SHORT_MONTH = /^([\p{L}\p{M}]{3,12})\.?[ '’-]+(\d{2})$/u;
const MONTH_BEHIND = /^(\d{2})[ -]([\p{L}\p{M}]{3,12})\.?$/u;

/**
 * Cells such as `Mar-24` with the year written out, where all of them are months then, and follow one another: no day of a month
 * does that, and a lone day is no billing period. Others stay as they are.
 */
export function withWholeYears(cells: readonly string[]): readonly string[] {
  if (cells.length < 2 || !cells.some(isShortMonth)) return cells;
  const written = cells.map((cell) => cell.replace(SHORT_MONTH, '$1 20$2').replace(MONTH_BEHIND, '$2 20$1'));
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
  return SHORT_MONTH.test(cell) || MONTH_BEHIND.test(cell);
}

/** The two dates that a cell holds: of a month alone its first and last day; '' in place of a second one that isn't there. */
export function datesOfCell(cell: string): [string, string] {
  const month = monthOfCell(cell);
  if (month !== undefined) return month;
  if (isMonthName(cell)) return [cell, cell];
  const both = BOTH_DATES.exec(cell);
  return both === null ? [cell, ''] : [both[1]!.trim(), both[2]!.trim()];
}

/** Days that a bill may have: a final one of a few, or a whole year. */
const BILL_DAYS = { least: 5, most: 400 };

type Order = 'day-first' | 'month-first' | 'year-first';

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

/** Of most statements but a year's: more is a year read as a day. */
const USUAL_DAYS = 100;

/** Whether every bill is of some months at most. */
const areUsual = ({ days }: Reading) => days.every(([start, end]) => end - start < USUAL_DAYS);

/** What tells one order from another, the surest sign first. */
function signs(within: DataDays | undefined): ((reading: Reading) => number | boolean)[] {
  const known = [areDates, areBills, areUsual, following];
  if (within === undefined) return known;
  const [first, last] = [civilDayOfDate(within.firstDay), civilDayOfDate(within.lastDay)];
  return [...known, ({ days }) => days.filter(([start, end]) => end >= first && start <= last).length];
}

/** The reading that the surest sign speaks for; undefined where none tells it from all others that are as good. */
function surest(readings: readonly Reading[], within: DataDays | undefined): Order | undefined {
  let left = readings;
  for (const sign of signs(within)) {
    const most = Math.max(...left.map((reading) => Number(sign(reading))));
    left = left.filter((reading) => Number(sign(reading)) === most);
  }
  const [first] = left;
  // Orders that come to the same days are one.
  return left.every(({ days }) => JSON.stringify(days) === JSON.stringify(first!.days)) ? first!.order : undefined;
}

/** Two numbers and a year of two or four digits, parted by points: the day is first. */
const DOTTED = /^\d{1,2}\.\d{1,2}\.\d{2,4}$/;

/**
 * First and last days as dates, undefined where a cell holds none, and what is to be said of them. One order of day, month and year
 * for all of them: they are read so that bills are as long as bills are and follow one another; of dates with points that tell no more,
 * the day is first.
 *
 * @param within the days of the data: they tell the year of dates that state none
 */
export function datesOf(
  stated: readonly (readonly [string, string])[],
  file: string,
  within: DataDays | undefined,
): { readonly dates: readonly [string?, string?][]; readonly notes: readonly string[] } {
  const whole = withYears(stated, file, within);
  const ends = whole?.ends ?? stated;
  const stamps = new StampReader();
  const ids = ends.map(([start, end]) => [stamps.readDate(start), stamps.readDate(end)] as const);
  const daysIn = (order: Order | undefined) => stamps.settle(order, Number.NaN, ids.flat()).civilDays;
  const readings = (['day-first', 'month-first', 'year-first'] as const).map((order): Reading => {
    const civilDays = daysIn(order);
    return {
      order,
      days: ids.map(([start, end]) => [civilDays[start] ?? Number.NaN, civilDays[end] ?? Number.NaN]),
    };
  });
  const dotted = ends.flat().some((cell) => DOTTED.test(cell));
  // Where none gives dates, some cell holds none: that is told by its line.
  const hopeless = !readings.some(areDates);
  const order = (hopeless ? 'day-first' : surest(readings, within)) ?? (dotted ? 'day-first' : undefined);
  if (order === undefined)
    throw new InputError([
      {
        code: 'ambiguous-date',
        where: { file },
        received: 'dates whose day, month and year can’t be told apart',
        expected: 'dates such as "2026-03-31"',
        hint: 'write the year first, with four digits',
      },
    ]);
  const civilDays = daysIn(order);
  const dateOf = (id: number) => {
    const day = civilDays[id];
    return day === undefined || Number.isNaN(day) ? undefined : formatDate(dateOfCivilDay(day));
  };
  return {
    dates: ids.map(([start, end]) => [dateOf(start), dateOf(end)]),
    notes: whole === undefined ? [] : [whole.note],
  };
}
