import { visible } from './visible.ts';

/** Longest text of a file that a message quotes, characters. */
export const MOST_QUOTED = 40;

/** A number of an account, a meter or a telephone: seven digits or more, whatever parts them. */
const LONG_NUMBER = /\d(?:[\s./\-–—,_'’‘`´]{0,2}\d){6}/;

/** Digits before and behind one decimal comma, such as a price of six decimals; either part of seven is long by itself. */
const DECIMAL_COMMA = /^\s*[+-]?\d{0,6},\d{1,6}\s*$/;

/** Whether a text holds a number of seven digits or more, whatever parts them, or not at all; a decimal comma alone parts none. */
export function hasLongNumber(text: string): boolean {
  return LONG_NUMBER.test(text) && !DECIMAL_COMMA.test(text);
}

/** A date with its year, and a time perhaps: as many digits as a telephone number, and no secret. */
const DATED =
  /^(?:(?:19|20)\d\d[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.](?:19|20)\d\d)(?:[t ]\d{1,2}(?::\d\d){1,2}(?:z|[+-]\d\d:?\d\d)?)?$/i;

/** Whether a text of a document may be quoted: a few words, no line of a letter or an account. */
export function isPlain(text: string): boolean {
  return (
    text.length <= MOST_QUOTED &&
    !/[,;] |@/.test(text) &&
    (!hasLongNumber(text) || DATED.test(text.trim())) &&
    text.trim().split(/\s+/).length <= 4
  );
}

/** What stands in place of a text that may not be quoted. */
export function unquoted(text: string): string {
  return text === '' ? 'nothing' : `a text of ${[...text].length} characters, not shown`;
}

/** Most of a name, key or path that is shown, characters. */
const MOST_SHOWN = 200;

/** A name or path of the user's as sentences and tables may hold it: visible, on one line, at most 200 characters. */
export function showName(name: string): string {
  const text = visible(name.length > 4 * MOST_SHOWN ? name.slice(0, 4 * MOST_SHOWN) : name);
  return text.length <= MOST_SHOWN ? text : `${[...text].slice(0, MOST_SHOWN - 1).join('')}…`;
}

/** Longest text of a file that is told whole, such as a tariff's notes, characters: what its schema lets through. */
export const MOST_NOTE = 4000;

/** What reads as a double quotation mark, two single ones in a row among it. */
const MARKS =
  /["\u02ba\u02ee\u05f4\u201c-\u201f\u2033\u2036\u275d\u275e\u3003\u301d-\u301f\uff02]|['`´\u2018\u2019\u2032]{2,}/gu;

/** More marks on one letter than any script sets. */
const MARK_HEAP = /(\p{M}{4})\p{M}+/gu;

/** Two blanks or more: columns of tables are parted so. */
const BLANKS = /\p{Zs}{2,}/gu;

/**
 * A name that a file gives, as every sentence, row and heading prints it: in quotation marks that it can't end by itself,
 * visible, on one line, without runs of blanks, cut to `most` characters. There is no other way to print one: outside of
 * marks, or with a mark inside, a name could be read as an answer of ours.
 */
export function quoteName(name: string, most = MOST_SHOWN): string {
  const start = name.length > 4 * most ? name.slice(0, 4 * most) : name;
  const text = visible(start.replace(MARKS, "'").replace(MARK_HEAP, '$1').replace(BLANKS, ' '));
  const shown = text.length <= most ? text : `${[...text].slice(0, most - 1).join('')}…`;
  return `"${shown}"`;
}

/** Names in marks, one after another. */
export function quoteNames(names: readonly string[], between = ', '): string {
  return names.map((name) => quoteName(name)).join(between);
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

/** Whether a number may be that of an account, a meter or a telephone: seven digits or more, zeros at its end not counted. */
function isLongNumber(value: unknown): value is number {
  return typeof value === 'number' && /^-?\d{6,}[1-9]0*$/.test(String(value));
}

/** A longer list is told by its length alone, and an object with more in it isn't told: a study takes seconds to write out. */
const MOST_ENTRIES = 1000;

/** Ends the writing of a value that won't be shown. */
class NotShown extends Error {}

/**
 * A value of a document as a short literal for messages. Texts are quoted up to 40 characters, longer ones and such as
 * hold several fields or a long number only by their length: a pasted letter shouldn't reach a log. Lists and
 * objects are quoted where they hold nothing but numbers and single words.
 */
export function showValue(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (isLongNumber(value)) return `a number of ${String(Math.abs(value)).length} digits, not shown`;
  if (value === null || typeof value === 'number' || typeof value === 'boolean' || typeof value === 'bigint')
    return String(value);
  if (typeof value === 'string') return isPlain(value) ? visible(JSON.stringify(value)) : unquoted(value);
  if (Array.isArray(value) && value.length > MOST_ENTRIES) return `a list of ${value.length}`;
  if (ArrayBuffer.isView(value)) return `a ${Object.prototype.toString.call(value).slice(8, -1)}`;
  let text: string | undefined;
  let entries = 0;
  try {
    text = JSON.stringify(value, (key, inner) => {
      if (++entries > MOST_ENTRIES || ArrayBuffer.isView(inner)) throw new NotShown();
      for (const part of [key, inner])
        if (typeof part === 'string' && !(/^[\w.:+-]{0,24}$/.test(part) && isPlain(part))) throw new NotShown();
      return inner;
    });
  } catch {
    // Too much, or no single words; a circle, or a number that JSON doesn't have.
  }
  if (text !== undefined && !/\d{7}/.test(text)) return visible(text.length > 60 ? `${text.slice(0, 57)}…` : text);
  if (Array.isArray(value)) return `a list of ${value.length}`;
  return typeof value === 'object' ? 'an object' : `a ${typeof value}`;
}
