/** What a cell that should hold a number holds. */
export type CellKind = 'number' | 'blank' | 'text';

/** Words and marks that stand for "no value" (blank is not zero). */
const NO_VALUE = /^(?:null|n\/?a|none|nil|-+|\*+|\?|no (?:consumption|data|reading|value)|missing|unavailable|#n\/a)$/i;
const WRAPPED = /^="?(.*?)"?$/;
// Spaces of every width, thousands apostrophes, currency signs.
const NOISE = /[\s\u00a0\u2007\u2009\u202f'’`$€£¥]/g;
// A blank or an apostrophe between digits parts thousands, or two numbers: "1 234,5" is one, "5 6 2025" and "778 899 01" none.
const PARTED = /\d[\s\u00a0\u2007\u2009\u202f'’`]+\d/;
const PARTED_THOUSANDS = /^\D*\d{1,3}(?:[\s\u00a0\u2007\u2009\u202f'’`]\d{3})+(?:[.,]\d*)?\D*$/;
const PLAIN = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?$/;
/** A value with its unit behind it in the same cell. */
export const VALUE_WITH_UNIT = /^\s*[+-]?[\d.,'\s\u00a0\u202f]*\d\s*([kM]?Wh?|k?VAr?h?)\s*$/i;
// No thousands begin with a zero: 0,780 is a decimal.
const COMMA_THOUSANDS = /^[+-]?[1-9]\d{0,2}(?:,\d{3})+(?:\.\d*)?$/;
const POINT_THOUSANDS = /^[+-]?[1-9]\d{0,2}(?:\.\d{3})+(?:,\d*)?$/;

const WITH_EXPONENT = /^[+-]?\d*([.,])\d*[eE][+-]?\d{1,3}$/;

/** Takes off what spreadsheets and portals wrap around a value: `="00123"`, a leading apostrophe, padding. */
export function unwrap(text: string): string {
  let cell = text.trim();
  if (cell.charCodeAt(0) === 61) cell = (WRAPPED.exec(cell)?.[1] ?? cell).trim();
  if (cell.charCodeAt(0) === 39) cell = cell.slice(1).trim();
  return cell;
}

/** Whether a cell says that there is no value. */
export function isBlank(text: string): boolean {
  const cell = unwrap(text);
  return cell === '' || NO_VALUE.test(cell);
}

const POWERS = [1, 10, 100, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

/**
 * A cell as a number, or NaN: padded, with thousands separators, a currency sign, `.145`, `="0.5"`.
 * @param decimalComma whether the column writes 0,25 for a quarter
 */
export function readNumber(text: string, decimalComma: boolean): number {
  // The common case first: at most fifteen digits with a point among them. Digits and power of ten are exact then,
  // so that their quotient is the nearest number, as the language's own reading gives it.
  const { length } = text;
  if (length > 0 && length <= 16 && !decimalComma) {
    let digits = 0;
    let point = -1;
    let i = 0;
    for (; i < length; i++) {
      const code = text.charCodeAt(i) - 48;
      if (code >= 0 && code <= 9) digits = digits * 10 + code;
      else if (code === -2 && point < 0) point = i;
      else break;
    }
    if (i === length && (point >= 0 ? length > 1 : length < 16))
      return point < 0 ? digits : digits / POWERS[length - 1 - point]!;
  }
  return readOddNumber(text, decimalComma);
}

function readOddNumber(text: string, decimalComma: boolean): number {
  const whole = unwrap(text);
  if (PARTED.test(whole) && !PARTED_THOUSANDS.test(whole)) return Number.NaN;
  let cell = whole.replace(NOISE, '');
  if (cell === '') return Number.NaN;
  let sign = 1;
  // Accountants' negatives: (0.25), and a trailing minus.
  if (cell.charCodeAt(0) === 40 && cell.endsWith(')')) {
    cell = cell.slice(1, -1);
    sign = -1;
  } else if (cell.length > 1 && cell.endsWith('-')) {
    cell = cell.slice(0, -1);
    sign = -1;
  }
  if (cell.includes(',')) {
    if (decimalComma) {
      if (POINT_THOUSANDS.test(cell)) cell = cell.replaceAll('.', '');
      cell = cell.replace(',', '.');
    } else if (COMMA_THOUSANDS.test(cell)) cell = cell.replaceAll(',', '');
  } else if (decimalComma && POINT_THOUSANDS.test(cell)) cell = cell.replaceAll('.', '');
  return sign * readPlain(cell);
}

/** A number as formats for machines write it, `-1.5e3`; NaN for all else (0x10, blanks) and for what no meter reads. */
export function readPlain(text: string): number {
  if (!PLAIN.test(text)) return Number.NaN;
  const value = Number(text);
  return Math.abs(value) < 1e15 ? value : Number.NaN;
}

/** A cell that prints its unit behind the value, `0,25 kWh`, as a number; NaN where it prints another unit than this one. */
export function readWithUnit(text: string, unit: string, decimalComma: boolean): number {
  const printed = VALUE_WITH_UNIT.exec(text)?.[1];
  if (printed?.toLowerCase() !== unit.toLowerCase()) return Number.NaN;
  return readOddNumber(text.trim().slice(0, -printed.length), decimalComma);
}

/** Number, nothing, or something else. */
export function cellKind(text: string, decimalComma: boolean): CellKind {
  if (isBlank(text)) return 'blank';
  return Number.isNaN(readNumber(text, decimalComma)) ? 'text' : 'number';
}

/**
 * Whether a sample of cells writes its decimals with a comma: a comma that can't be a thousands mark
 * decides for it, a point that can't be one against.
 */
export function usesDecimalComma(cells: Iterable<string>): boolean {
  let commas = 0;
  let largeIntegers = 0;
  for (const text of cells) {
    const cell = unwrap(text).replace(NOISE, '');
    // Before an exponent no mark parts thousands: 5,00E-02.
    const mark = WITH_EXPONENT.exec(cell)?.[1];
    if (mark !== undefined) return mark === ',';
    if (/^[+-]?\d*,\d*$/.test(cell)) {
      if (!/^[+-]?[1-9]\d{0,2},\d{3}$/.test(cell)) return true;
      commas++;
    } else if (/^[+-]?[1-9]\d{0,2}(?:\.\d{3})+,\d+$/.test(cell)) return true;
    else if (/^[+-]?\d*\.\d*$/.test(cell) || COMMA_THOUSANDS.test(cell)) return false;
    else if (/^[+-]?\d{3}$/.test(cell)) largeIntegers++;
  }
  // Every comma is followed by three digits. Beside whole numbers in the hundreds it marks thousands;
  // else the quantities of an interval are small, so it is a decimal mark.
  return commas > 0 && largeIntegers === 0;
}
