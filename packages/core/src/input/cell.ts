import { MOST_QUOTED, unquoted } from '../words/quote.ts';

// A file of its own: its patterns are made while it loads, and only who reads tables needs them.

const MONTH =
  '(?:jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)';
const DATE = [
  String.raw`(?:19|20)\d\d[-/.]\d{1,2}[-/.]\d{1,2}`,
  String.raw`\d{1,2}[-/.]\d{1,2}[-/.](?:(?:19|20)\d\d|\d{2})`,
  String.raw`(?:19|20)\d\d[01]\d[0-3]\d`,
  String.raw`\d{1,2}[-/ ]${MONTH}[-/ ,]{1,2}(?:\d{4}|\d{2})`,
  String.raw`${MONTH} \d{1,2},? \d{4}`,
].join('|');
/** A time of day, perhaps cut off, with its half of the day and its zone. */
const TIME = String.raw`\d{1,2}(?::\d{0,2}){1,2}(?:\.\d{1,6})?(?: ?[ap]\.?m\.?)?(?: ?(?:z|utc|gmt|[a-z]{1,2}[sd]t|[+-]\d{2}:?\d{2}))?`;
const BEGINS_WITH_DATE = new RegExp(`^(?:${DATE})(?![-\\d/.])`, 'i');
const MOMENT = new RegExp(`^(?:(?:${DATE})(?:[t ,]+(?:${TIME}|\\d{0,2}))?|${TIME})$`, 'i');

/** A number gone wrong (`1.2.3`, `0.25 kWh`, `(0.5`): no dash or space within, so that no account or telephone fits. */
const NUMBER =
  /^[-+−(]{0,2}[$€£¥]? ?[-+]?\d*(?:[.,'’]+\d+)*[.,'’]?(?:e[-+]?\d{1,4})?[-)]?(?: ?(?:%|[kmg]?wh?|usd|eur|gbp|cad|aud|nzd|[$€£¥]))?$/i;
const MOST_DIGITS = 6;

/** What programs write in place of a number. */
const NO_NUMBER =
  /^(?:nan|[-+]?inf(?:inity)?|err(?:or)?|fail(?:ed|ure)?|fault|bad|invalid|overflow|true|false|#(?:value!|ref!|num!|name\?|div\/0!))$/i;

/**
 * A faulty cell as messages may quote it, or undefined where it may not be.
 *
 * An address in the column of dates is as private there as anywhere. So a cell is quoted only where it reads like what
 * its column holds, gone wrong: a date or time that doesn't exist or is cut off (only the date, where something else
 * follows it), digits with marks of a number in the wrong place, a program's word for "no number"; and no more than 40
 * characters of anything.
 *
 * @param holds what the cell's column was taken to hold
 */
export function quoteCell(cell: string, holds: 'time' | 'number'): string | undefined {
  const text = cell.slice(0, 200).trim();
  if (text.length <= MOST_QUOTED && MOMENT.test(text)) return `"${text}"`;
  if (holds === 'time') {
    const date = BEGINS_WITH_DATE.exec(text)?.[0];
    return date === undefined ? undefined : `"${date}…"`;
  }
  if (text.length > MOST_QUOTED) return undefined;
  const digits = text.replace(/\D/g, '').length;
  return NO_NUMBER.test(text) || (digits > 0 && digits <= MOST_DIGITS && NUMBER.test(text)) ? `"${text}"` : undefined;
}

/** {@link quoteCell}, or how long the cell is where it may not be quoted. */
export function showCell(cell: string, holds: 'time' | 'number'): string {
  return quoteCell(cell, holds) ?? unquoted(cell.trim());
}
