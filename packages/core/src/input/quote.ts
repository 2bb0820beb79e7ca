import { visible } from './visible.ts';

/** Longest text of a file that a message quotes, characters. */
const MOST_QUOTED = 40;

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

/** A number of an account, a meter or a telephone: seven digits or more, whatever parts them. */
const LONG_NUMBER = /\d(?:[\s./\-–—]{0,2}\d){6}/;

/** Whether a text holds a number of seven digits or more, parted by blanks, points, dashes or slashes or not at all. */
export function hasLongNumber(text: string): boolean {
  return LONG_NUMBER.test(text);
}

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

/** Whether a text of a document may be quoted: a few words, no line of a letter or an account. */
export function isPlain(text: string): boolean {
  return (
    text.length <= MOST_QUOTED &&
    !/[,;] |@/.test(text) &&
    (!hasLongNumber(text) || MOMENT.test(text.trim())) &&
    text.trim().split(/\s+/).length <= 4
  );
}

function unquoted(text: string): string {
  return text === '' ? 'nothing' : `a text of ${[...text].length} characters, not shown`;
}

/** Most of a name, key or path that is shown, characters. */
const MOST_SHOWN = 200;

/** A name or path of the user's as sentences and tables may hold it: visible, on one line, at most 200 characters. */
export function showName(name: string): string {
  const text = visible(name.length > 4 * MOST_SHOWN ? name.slice(0, 4 * MOST_SHOWN) : name);
  return text.length <= MOST_SHOWN ? text : `${[...text].slice(0, MOST_SHOWN - 1).join('')}…`;
}

/** Whether a key of a document may be quoted: one word, as all of ours are. A pasted line falls into keys of several. */
function isWord(key: string): boolean {
  return isPlain(key) && !visible(key).includes(' ');
}

/** A key of a document as a part of its path: itself where it may be quoted, else `…`. */
export function pathKey(key: string): string {
  return isWord(key) ? key : '…';
}

/** A key of a document for messages: `the key "price"`, or how long it is where it may not be quoted. */
export function showKey(key: string): string {
  return isWord(key) ? `the key "${visible(key)}"` : `a key of ${[...key].length} characters, not shown`;
}

/** A longer list is told by its length alone: writing out a year of readings takes its time. */
const MOST_ENTRIES = 1000;

/**
 * A value of a document as a short literal for messages. Texts are quoted up to 40 characters, longer ones and such as
 * hold several fields or a long number only by their length: a pasted letter shouldn't reach a log. Lists and
 * objects are quoted where they hold nothing but numbers and single words.
 */
export function showValue(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (value === null || typeof value === 'number' || typeof value === 'boolean' || typeof value === 'bigint')
    return String(value);
  if (typeof value === 'string') return isPlain(value) ? visible(JSON.stringify(value)) : unquoted(value);
  if (Array.isArray(value) && value.length > MOST_ENTRIES) return `a list of ${value.length}`;
  if (ArrayBuffer.isView(value)) return `a ${Object.prototype.toString.call(value).slice(8, -1)}`;
  let text: string | undefined;
  let words = true;
  try {
    text = JSON.stringify(value, (key, inner) => {
      for (const part of [key, inner])
        if (typeof part === 'string' && !(/^[\w.:+-]{0,24}$/.test(part) && isPlain(part))) words = false;
      return inner;
    });
  } catch {
    // A circle, or a number that JSON doesn't have.
  }
  if (text !== undefined && words && !/\d{7}/.test(text))
    return visible(text.length > 60 ? `${text.slice(0, 57)}…` : text);
  if (Array.isArray(value)) return `a list of ${value.length}`;
  return typeof value === 'object' ? 'an object' : `a ${typeof value}`;
}
