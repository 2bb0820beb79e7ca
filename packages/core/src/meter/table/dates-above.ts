import { classify } from './cells.ts';
import { StampReader } from './stamps.ts';

/** The clock goes back by so much in the night that has an hour twice, ms. */
const HOUR_TWICE_MS = 3_600_000;

/** Two columns of which the first is filled once a day. */
export interface DatesAbove {
  readonly date: number;
  readonly time: number;
}

/**
 * Whether dates are printed once a day, as a spreadsheet shows merged cells: later rows of the day have a time and a blank.
 * Undefined where a row with a time has anything else there, and where most rows have a date.
 */
export function findDatesAbove(sample: readonly { readonly cells: readonly string[] }[]): DatesAbove | undefined {
  const stamps = new StampReader();
  let found: DatesAbove | undefined;
  let dated = 0;
  let blank = 0;
  for (const { cells } of sample) {
    const kinds = cells.map((cell) => classify(cell, stamps));
    const time = kinds.indexOf('time');
    if (time < 0 || !kinds.includes('number')) continue;
    if (found === undefined) {
      const date = kinds.indexOf('date');
      if (date < 0) return undefined;
      found = { date, time };
    }
    if (time !== found.time) return undefined;
    if (kinds[found.date] === 'date') dated++;
    else if (kinds[found.date] === 'blank') blank++;
    else return undefined;
  }
  return blank > dated ? found : undefined;
}

/**
 * Fills a blank date with the one above, row after row. A time that is earlier than the row's above is of a day that nobody
 * can know, midnight at the day's end too: its date stays blank, as those below it until one is printed.
 */
export function fillDates({ date, time }: DatesAbove): (cells: string[]) => void {
  const stamps = new StampReader();
  let above: string | undefined;
  let latestMs = 0;
  return (cells) => {
    const hasTime = stamps.readTime(cells[time] ?? '');
    const own = cells[date];
    if (own === undefined || !hasTime) return;
    if (own.trim() !== '') above = own;
    else {
      if (stamps.timeMs < latestMs - HOUR_TWICE_MS) above = undefined;
      if (above === undefined) return;
      cells[date] = above;
    }
    latestMs = stamps.timeMs;
  };
}
