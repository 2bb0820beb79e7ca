import { civilDayOf, dateOfCivilDay } from '../../axis/index.ts';
import { DAY_MS } from '../durations.ts';
import { type DateOrder, type DateText, dateAt, isDate, isDateIn, type SettledDates, yearOf } from './dates.ts';

/** What a label says of the two passes of a repeated hour. */
export const MARK = { none: 0, earlier: 1, later: 2 } as const;

const ORDERS: readonly DateOrder[] = ['day-first', 'month-first', 'year-first'];

/** Names of weekdays before a date, in the languages of `languages.ts`. */
const WEEKDAY =
  /^(?:(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*|(?:lun|mar|mer|jeu|ven|sam|dim|mie|jue|vie|sab|dom|gio|don|woe|zat|zon|sonn|sams|mont|dien|mitt|frei|maan|din|vri)[\p{L}]*|[mdfs][aoir]|[mdwvz][aory]|seg|ter|qua|qui|sex)\.?,?\s+(?=\d)/iu;
const COMPACT_WITH_TIME = /^((?:19|20)\d{2})(\d{2})(\d{2})[T_]?(\d{2})(\d{2})(\d{2})?(?!\d)/;

const TIME =
  /^(\d{1,2})(?::?(\d{2}))?(?::?(\d{2})(?:[.,]\d{1,9})?)?\s*(?:([ap])\.?\s?m\.?)?\s*(z|[+-]\d{2}(?::?\d{2})?|[a-z]{3,4}(?:[+-]\d{1,2})?)?$/i;

/** Days of a spreadsheet from 1995 to 2064, with a fraction or without. */
const SERIAL = /^(?:3[5-9]|4\d|5\d)\d{3}(?:[.,]\d{1,12})?$/;
/** The number that spreadsheets give to 1970-01-01 (ECMA-376 part 1, 18.17.4.1: 1 is 1900-01-01, counted with a 29 February 1900). */
const SERIAL_OF_1970 = 25_569;

const BETWEEN =
  '(?:\\s[-–—]\\s|\\s?[–—→]\\s?|\\s?->\\s?|\\s(?:to|until|bis|tot|till?|do|hasta|au?|alle|à)\\s(?:las\\s)?|\\s?\\/\\s?(?=\\d{4}-))';
/** Both ends of an interval in one cell; a bare hyphen between them would be an offset. */
const BOTH_ENDS = new RegExp(
  `^(?:from |von |de |du |desde |dalle |van |od )?(\\d.*?\\d(?:\\s?[ap]\\.?m\\.?)?)${BETWEEN}(\\d.*)$`,
  'iu',
);
/** Both ends in a cell of the time of day alone, where nothing prints an offset. */
const BOTH_TIMES = new RegExp(
  `^(?:from |von |de |du |desde |dalle |van |od )?(\\d{1,2}[:.h]\\d{2}(?::\\d{2})?(?:\\s?[ap]\\.?m\\.?)?)(?:${BETWEEN}|\\s?-\\s?)(\\d{1,2}[:.h]\\d{2}(?::\\d{2})?(?:\\s?[ap]\\.?m\\.?)?)$`,
  'iu',
);

/** An hour by its bounds, or by its number and a mark: `00-01`, `00 - 01`, `00h-01h`, `0h`; `00.00-01.00` behind a date. */
const HOURS = /^(\d{1,2})(?:\.(\d{2})|\s?h)?\s?[-–—]\s?(\d{1,2})(?:\.(\d{2})|\s?h)?$|^(\d{1,2})\s?h$/i;

/** `00:00-01:00` at the end of a label: an offset from UTC, or the end of its interval. */
const TIME_AND_END = /(\d{1,2}):(\d{2})-(\d{1,2}):(\d{2})$/;
/** Of labels, those whose bounds have to be an hour apart at the most: where the clock changes others are. */
const LEAST_RANGES = 0.8;

/** Whether labels that end so print both bounds of their interval: an offset stands an hour behind the time on one row of a day alone. */
export function areRanges(texts: readonly string[]): boolean {
  let ranges = 0;
  for (const text of texts) {
    const match = TIME_AND_END.exec(text.trim());
    if (match === null) continue;
    const [h, m, endH, endM] = match.slice(1).map(Number) as [number, number, number, number];
    const minutes = (60 * (endH - h) + endM - m + 1440) % 1440;
    if (minutes > 0 && minutes <= 60) ranges++;
  }
  return ranges > 0 && ranges >= LEAST_RANGES * texts.length;
}

/** Whether a text may name an hour of the day so; by itself `01-02` may be a date. */
export function namesHours(text: string): boolean {
  return HOURS.test(text.trim());
}

/** Offsets of zone abbreviations that meter files print, minutes; `dst` says which pass of a repeated hour they mean. */
const ABBREVIATIONS: Record<string, { offset: number; dst: boolean }> = {
  UTC: { offset: 0, dst: false },
  GMT: { offset: 0, dst: false },
  BST: { offset: 60, dst: true },
  WET: { offset: 0, dst: false },
  WEST: { offset: 60, dst: true },
  CET: { offset: 60, dst: false },
  CEST: { offset: 120, dst: true },
  EET: { offset: 120, dst: false },
  EEST: { offset: 180, dst: true },
  NST: { offset: -210, dst: false },
  NDT: { offset: -150, dst: true },
  AST: { offset: -240, dst: false },
  ADT: { offset: -180, dst: true },
  EST: { offset: -300, dst: false },
  EDT: { offset: -240, dst: true },
  CST: { offset: -360, dst: false },
  CDT: { offset: -300, dst: true },
  MST: { offset: -420, dst: false },
  MDT: { offset: -360, dst: true },
  PST: { offset: -480, dst: false },
  PDT: { offset: -420, dst: true },
  HST: { offset: -600, dst: false },
  AEST: { offset: 600, dst: false },
  AEDT: { offset: 660, dst: true },
  ACST: { offset: 570, dst: false },
  ACDT: { offset: 630, dst: true },
  AWST: { offset: 480, dst: false },
  NZST: { offset: 720, dst: false },
  NZDT: { offset: 780, dst: true },
};

/**
 * Reads the time labels of one column (or of a date and a time column) at the speed of plain text:
 * each distinct date is understood once, the time of day by its digits. Day and month are told apart
 * from the whole column by {@link settle}.
 */
export class StampReader {
  readonly #ids = new Map<string, number>();
  readonly #dates: DateText[] = [];
  #lastText = '';
  #lastId = -1;

  /** Of the last label read: ms since that date's midnight (86,400,000 for 24:00). */
  timeMs = 0;
  /** Of the last label read: its offset from UTC, minutes, or NaN where it prints none. */
  offsetMinutes = Number.NaN;
  /** Of the last label read: a value of {@link MARK}. */
  mark = 0;
  /** Whether the last label had a time of day. */
  hasTime = false;

  /** Of the last label read: the id of the date of its end, −1 for the label's own, and the end in ms since its midnight. */
  endDateId = -1;
  /** NaN where the label prints no end. */
  endMs = Number.NaN;

  /** Set where `-01:00` behind a time is the end of its interval: see {@link areRanges}. */
  ranges = false;

  /**
   * Reads a label with date and, perhaps, time; one with both ends of its interval, `A to B`, by its start, its end in
   * {@link endMs}. Returns the date's id, or −1 where it isn't one.
   */
  read(text: string): number {
    this.endMs = Number.NaN;
    this.endDateId = -1;
    if (this.ranges) return this.#readBothEnds(text.trim().replace(TIME_AND_END, '$1:$2 - $3:$4'));
    const last = this.#lastText;
    if (last !== '' && text.startsWith(last)) {
      const next = text.charCodeAt(last.length);
      // Blank or T, then hh:mm, and nothing else: nearly every row of nearly every file.
      if ((next === 32 || next === 84) && text.length >= last.length + 5) {
        if (this.#clock(text, last.length + 1)) return this.#lastId;
      }
    }
    const id = this.#readAny(text);
    return id >= 0 ? id : this.#readBothEnds(text);
  }

  #readBothEnds(text: string): number {
    const both = text.length > 80 ? null : BOTH_ENDS.exec(text.trim());
    if (both === null) return -1;
    const endText = both[2]!;
    const alone = this.#readAnyTime(endText);
    let endDateId = alone ? -1 : this.#readAny(endText);
    if (!alone && (endDateId < 0 || !this.hasTime)) return -1;
    let endMs = this.timeMs;
    const endOffset = this.offsetMinutes;
    const id = this.#readAny(both[1]!);
    if (id < 0 || !this.hasTime) return -1;
    if (alone) endDateId = id;
    // An end of 00:00 is that of the start's day.
    if (endDateId === id && endMs < this.timeMs) endMs += DAY_MS;
    const shiftMinutes = endOffset - this.offsetMinutes;
    this.endDateId = endDateId;
    this.endMs = endMs - (Number.isNaN(shiftMinutes) ? 0 : shiftMinutes * 60_000);
    return id;
  }

  /** Reads a label of a date column alone. */
  readDate(text: string): number {
    if (text === this.#lastText && text !== '') {
      this.hasTime = false;
      return this.#lastId;
    }
    return this.#readAny(text);
  }

  /** Reads a time of day into {@link timeMs}. */
  readTime(text: string): boolean {
    this.endMs = Number.NaN;
    const both = text.length > 8 ? BOTH_TIMES.exec(text.trim()) : null;
    if (both !== null && this.#readAnyTime(both[2]!)) {
      const endMs = this.timeMs;
      if (this.#readAnyTime(both[1]!)) {
        const length = (endMs - this.timeMs + DAY_MS) % DAY_MS;
        // An end that a clock change put before the start says nothing of the length.
        this.endDateId = -1;
        if (length > 0 && length <= 3_600_000) this.endMs = this.timeMs + length;
        return true;
      }
    }
    if (this.#clock(text, 0)) return true;
    return this.#readAnyTime(text) || this.#readHours(text);
  }

  /** An hour by its bounds or its number; its end, where it prints one. */
  #readHours(text: string): boolean {
    const match = HOURS.exec(text.trim());
    if (match === null) return false;
    const [, from, fromMinute = '0', to, toMinute = '0', alone] = match;
    const startMs = Number(alone ?? from) * 3_600_000 + Number(fromMinute) * 60_000;
    if (startMs > DAY_MS || Number(fromMinute) > 59) return false;
    if (to !== undefined) {
      const endMs = Number(to) * 3_600_000 + Number(toMinute) * 60_000;
      const length = (endMs - startMs + DAY_MS) % DAY_MS;
      // Where the clock changes, an hour may end at its start or two hours on.
      if (endMs > DAY_MS || Number(toMinute) > 59 || length > 2 * 3_600_000) return false;
      if (length > 0 && length <= 3_600_000) this.endMs = startMs + length;
    }
    this.timeMs = startMs;
    this.offsetMinutes = Number.NaN;
    this.mark = MARK.none;
    this.hasTime = true;
    return true;
  }

  /** `h:mm`, `hh:mm:ss`, then perhaps `Z`, `-07:00` or ` PM`, from `at` to the end of the text. */
  #clock(text: string, at: number): boolean {
    const end = text.length;
    let i = at;
    let h = text.charCodeAt(i++) - 48;
    if (!(h >= 0 && h <= 9)) return false;
    let digit = text.charCodeAt(i) - 48;
    if (digit >= 0 && digit <= 9) {
      h = h * 10 + digit;
      i++;
    }
    if (text.charCodeAt(i) !== 58) return false;
    const m = this.#twoDigits(text, i + 1);
    if (m < 0 || m > 59) return false;
    i += 3;
    let s = 0;
    if (text.charCodeAt(i) === 58) {
      s = this.#twoDigits(text, i + 1);
      if (s < 0 || s > 59) return false;
      i += 3;
      if (text.charCodeAt(i) === 46) {
        i++;
        for (digit = text.charCodeAt(i); digit >= 48 && digit <= 57; digit = text.charCodeAt(i)) i++;
      }
    }
    let offset = Number.NaN;
    if (i < end) {
      const code = text.charCodeAt(i);
      if (code === 32 && i + 3 === end && (text.charCodeAt(i + 2) | 32) === 109) {
        const half = text.charCodeAt(i + 1) | 32;
        if (h < 1 || h > 12 || (half !== 97 && half !== 112)) return false;
        h = (h % 12) + (half === 112 ? 12 : 0);
      } else if (code === 90 && i + 1 === end) offset = 0;
      else if ((code === 43 || code === 45) && i + 6 === end && text.charCodeAt(i + 3) === 58) {
        const hours = this.#twoDigits(text, i + 1);
        const minutes = this.#twoDigits(text, i + 4);
        if (hours < 0 || minutes < 0 || minutes > 59 || hours > 14) return false;
        offset = (code === 45 ? -1 : 1) * (hours * 60 + minutes);
      } else return false;
    }
    const ms = h * 3_600_000 + m * 60_000 + s * 1000;
    if (ms > DAY_MS) return false;
    this.timeMs = ms;
    this.offsetMinutes = offset;
    this.mark = MARK.none;
    this.hasTime = true;
    return true;
  }

  #twoDigits(text: string, at: number): number {
    const tens = text.charCodeAt(at) - 48;
    const ones = text.charCodeAt(at + 1) - 48;
    return tens >= 0 && tens <= 9 && ones >= 0 && ones <= 9 ? tens * 10 + ones : -1;
  }

  #readAnyTime(raw: string): boolean {
    let text = raw.trim();
    if (text.charCodeAt(0) === 39) text = text.slice(1);
    // "2026-01-01 00:15" in a time column, a daylight flag after it.
    // 14h30 and 14.30 are times of day too; "Uhr" says so.
    text = text
      .replace(/[\u00a0\u202f]/g, ' ')
      .replace(/ ?uhr$/i, '')
      .replace(
        /^(\d{1,2})(?:[.](?=\d{2}(?:\.\d{2})?$)|h(?=\d{2}$))(\d{2})(?:[.](\d{2}))?$/i,
        (_, h, m, s) => `${h}:${m}${s === undefined ? '' : `:${s}`}`,
      );
    const match = TIME.exec(text);
    if (match === null) return false;
    const [, hh, mm, ss, half, zone] = match;
    if (mm === undefined && half === undefined) return false;
    // Without colons hmm, hhmm or hhmmss, and no fraction: 20000,780 is a reading of a register.
    if (half === undefined && !text.includes(':') && !/^(?:\d{3,4}|\d{6})(?![\d.,])/.test(text)) return false;
    let h = Number(hh);
    const m = mm === undefined ? 0 : Number(mm);
    const s = ss === undefined ? 0 : Number(ss);
    if (half !== undefined) {
      if (h < 1 || h > 12) return false;
      h = (h % 12) + (half.toLowerCase() === 'p' ? 12 : 0);
    }
    const ms = h * 3_600_000 + m * 60_000 + s * 1000;
    if (m > 59 || s > 60 || ms > DAY_MS) return false;
    let offset = Number.NaN;
    let mark: number = MARK.none;
    if (zone !== undefined) {
      if (/^z$/i.test(zone)) offset = 0;
      else if (/^[+-]/.test(zone)) {
        const digits = zone.replace(/\D/g, '').padEnd(4, '0');
        offset = (zone.startsWith('-') ? -1 : 1) * (Number(digits.slice(0, 2)) * 60 + Number(digits.slice(2)));
        if (Math.abs(offset) > 900) return false;
      } else {
        const known = ABBREVIATIONS[zone.toUpperCase()];
        if (known === undefined) return false;
        offset = known.offset;
        mark = known.dst ? MARK.earlier : MARK.later;
      }
    }
    this.timeMs = ms;
    this.offsetMinutes = offset;
    this.mark = mark;
    this.hasTime = true;
    return true;
  }

  #readAny(raw: string): number {
    let text = raw.trim();
    if (text.charCodeAt(0) === 61) text = text.replace(/^="?|"$/g, '').trim();
    if (text.charCodeAt(0) === 39) text = text.slice(1).trim();
    if (text === '' || text.length > 60) return -1;
    this.mark = MARK.none;
    this.offsetMinutes = Number.NaN;
    this.hasTime = false;
    this.timeMs = 0;
    const epoch = /^(\d{10}|\d{13})(?:\.0*)?$/.exec(text);
    if (epoch !== null) {
      const ms = Number(epoch[1]) * (epoch[1]!.length === 10 ? 1000 : 1);
      const day = Math.floor(ms / DAY_MS);
      this.timeMs = ms - day * DAY_MS;
      this.offsetMinutes = 0;
      this.hasTime = true;
      const date = dateOfCivilDay(day);
      return this.#idOf(`@${day}`, { form: 'settled', a: date.year, b: date.month, c: date.dayOfMonth });
    }
    const serial = SERIAL.exec(text);
    if (serial !== null) {
      // Days since 1899-12-30, as spreadsheets count them; the fraction is the time of day, to the minute.
      const minutes = Math.round(Number(text.replace(',', '.')) * 1440);
      const day = Math.floor(minutes / 1440) - SERIAL_OF_1970;
      this.timeMs = (minutes % 1440) * 60_000;
      this.hasTime = true;
      const date = dateOfCivilDay(day);
      return this.#idOf(`#${day}`, { form: 'settled', a: date.year, b: date.month, c: date.dayOfMonth });
    }
    const compact = COMPACT_WITH_TIME.exec(text);
    if (compact !== null) {
      const [, y, mo, d, h, mi, s] = compact.map(Number) as number[];
      const id = this.#idOf(text.slice(0, 8), { form: 'settled', a: y!, b: mo!, c: d! });
      this.timeMs = h! * 3_600_000 + mi! * 60_000 + (s! >= 0 ? s! * 1000 : 0);
      this.hasTime = true;
      if (this.timeMs > DAY_MS || mi! > 59) return -1;
      if (compact[0].length === text.length) return id;
      if (!/^z$/i.test(text.slice(compact[0].length))) return -1;
      this.offsetMinutes = 0;
      return id;
    }
    let found = dateAt(text);
    if (found === undefined) {
      text = text.replace(WEEKDAY, '');
      found = dateAt(text);
    }
    if (found === undefined) return -1;
    const rest = text.slice(found.length).replace(/^(?:T(?=\d)|[\s,_:-]+)/i, '');
    if (rest !== '') {
      const { hasTime } = this;
      if (!this.#readAnyTime(rest) && !this.#readHours(rest)) {
        this.hasTime = hasTime;
        return -1;
      }
    }
    const dateText = text.slice(0, found.length);
    const id = this.#idOf(dateText, found.date);
    // The fast path compares raw text, so only an unpadded label may prime it.
    this.#lastText = raw.startsWith(dateText) ? dateText : '';
    this.#lastId = id;
    return id;
  }

  #idOf(key: string, date: DateText): number {
    let id = this.#ids.get(key);
    if (id === undefined) {
      id = this.#dates.length;
      this.#ids.set(key, id);
      this.#dates.push(date);
    }
    return id;
  }

  /** Whether any date was printed without its year. */
  get lacksYear(): boolean {
    return this.#dates.some(({ form }) => form === 'no-year' || form === 'day-of-year');
  }

  /** The year of most dates where it is four digits of a time before interval meters or far ahead: a slip of typing. */
  get wrongYear(): number | undefined {
    const years = this.#dates.map(({ form, a, c }) => (form === 'settled' ? a : form === 'numbers' ? c : Number.NaN));
    const wrong = years.filter((year) => year >= 1000 && (year < 1970 || year > 2200));
    return wrong.length > years.length / 2 ? wrong[0] : undefined;
  }

  /** Whether 29 February is among dates without a year. */
  get hasLeapDay(): boolean {
    return this.#dates.some(
      ({ form, a, b, c }) =>
        (form === 'no-year' && Math.min(a, b) === 2 && Math.max(a, b) === 29) ||
        (form === 'day-of-year' && b === 2 && c === 29),
    );
  }

  /**
   * Settles the order of day and month from the whole column, and gives each date id its civil day
   * (NaN where it is none).
   *
   * @param stated the user's word, which wins
   * @param year for dates that print none
   * @param sequence date ids in file order: where both orders are possible, the one in which
   *   neighbouring dates follow each other is right
   */
  settle(
    stated: DateOrder | undefined,
    year: number,
    sequence: Iterable<number>,
  ): SettledDates & {
    order: DateOrder | undefined;
    evidence: string | undefined;
    unclear: boolean;
    /** Day and month are exchanged in some of the dates, as a spreadsheet of another country exchanges them. */
    swapped: boolean;
  } {
    const open = this.#dates.filter(({ form }) => form !== 'settled' && form !== 'day-of-year');
    const ids = open.length === 0 ? [] : [...sequence];
    let order: DateOrder | undefined = stated;
    let evidence: string | undefined;
    let unclear = false;
    if (open.length > 0) {
      if (stated !== undefined) evidence = `dates are ${stated}: stated`;
      else {
        const holds = (each: DateOrder) => open.every((date) => isDateIn(each, date, year));
        const possible = ORDERS.filter(holds);
        if (possible.length === 1) {
          order = possible[0];
          evidence =
            order === 'year-first'
              ? 'dates are year-first: no other order gives days that exist'
              : `dates are ${order}: the other order gives days that don't exist`;
        } else if (possible.length > 1) {
          order = this.#evenOrder(possible, year, ids);
          if (order !== undefined) evidence = `dates are ${order}: so neighbouring dates follow each other`;
          else if (!possible.includes('month-first') || !possible.includes('day-first')) {
            // Nothing speaks for the year in front, which is the rarest.
            order = possible.find((each) => each !== 'year-first');
            evidence = `dates are ${order}: the other order gives days that don't exist`;
          } else if (open.every((date) => date.a === date.b)) order = 'day-first';
          else unclear = true;
        } else {
          // Some labels are no dates at all: let the majority decide, the rest are reported row by row.
          const count = (each: DateOrder) => open.filter((date) => isDateIn(each, date, year)).length;
          const most = Math.max(...ORDERS.map(count));
          const likely = ORDERS.filter((each) => count(each) === most);
          order = likely.length === 1 ? likely[0] : this.#evenOrder(likely, year, ids);
          if (order === undefined) unclear = true;
          else evidence = `dates are ${order}: by the most of them`;
        }
      }
    }
    const swapped = order !== 'year-first' && !unclear && this.#isSwapped(order ?? 'day-first', year, ids);
    let texts: string[] | undefined;
    const textOf = (id: number) => {
      texts ??= [...this.#ids.keys()];
      return texts[id] ?? '';
    };
    return { civilDays: this.#civilDays(order ?? 'day-first', year), textOf, order, evidence, unclear, swapped };
  }

  /**
   * The order in which most dates follow the one before, of several that are possible; where none do so more than in another,
   * the one in which they lie by far the closest. Undefined where they don't differ.
   */
  #evenOrder(possible: readonly DateOrder[], year: number, sequence: readonly number[]): DateOrder | undefined {
    const told = possible.map((order) => {
      const days = this.#civilDays(order, year);
      let follow = 0;
      let apart = 0;
      let before = -1;
      for (const id of sequence) {
        if (id === before || id < 0) continue;
        const step = before < 0 ? Number.NaN : Math.abs(days[id]! - days[before]!);
        if (step === 1) follow++;
        if (step > 0) apart += step;
        before = id;
      }
      return { order, follow, apart };
    });
    told.sort((one, other) => other.follow - one.follow || one.apart - other.apart);
    const [first, second] = told as [(typeof told)[number], (typeof told)[number]];
    return first.follow > second.follow || first.apart < second.apart / 5 ? first.order : undefined;
  }

  /**
   * Whether a spreadsheet of another country has read those dates whose numbers are both up to twelve the wrong way round
   * and left the others as they were: under one order few dates follow the one before, and nearly all do once those are
   * exchanged.
   */
  #isSwapped(order: DateOrder, year: number, sequence: readonly number[]): boolean {
    const isOpen = ({ form, a, b }: DateText) => form === 'numbers' && a <= 12 && b <= 12 && a !== b;
    if (
      !this.#dates.some(isOpen) ||
      !this.#dates.some((date) => date.form === 'numbers' && !isOpen(date) && date.a !== date.b)
    )
      return false;
    const days = this.#civilDays(order, year);
    const others = this.#civilDays(order === 'day-first' ? 'month-first' : 'day-first', year);
    let follow = 0;
    let followExchanged = 0;
    let steps = 0;
    let before = -1;
    const exchanged = (id: number) => (isOpen(this.#dates[id]!) ? others[id]! : days[id]!);
    for (const id of sequence) {
      if (id === before || id < 0) continue;
      if (before >= 0 && (isOpen(this.#dates[id]!) || isOpen(this.#dates[before]!))) {
        steps++;
        if (Math.abs(days[id]! - days[before]!) === 1) follow++;
        if (Math.abs(exchanged(id) - exchanged(before)) === 1) followExchanged++;
      }
      before = id;
    }
    return steps >= 8 && follow < 0.3 * steps && followExchanged > 0.8 * steps;
  }

  #civilDays(order: DateOrder, year: number): Float64Array {
    const days = new Float64Array(this.#dates.length);
    for (let i = 0; i < days.length; i++) {
      const date = this.#dates[i]!;
      let y = date.a;
      let m = date.b;
      let d = date.c;
      if (date.form === 'day-of-year') y = year;
      else if (date.form !== 'settled') {
        y = order === 'year-first' && date.form === 'numbers' ? yearOf(date.a, year) : yearOf(date.c, year);
        m = order === 'month-first' ? date.a : date.b;
        d = order === 'month-first' ? date.b : order === 'day-first' ? date.a : date.c;
      }
      days[i] = isDate(y, m, d) ? civilDayOf(y, m, d) : Number.NaN;
    }
    return days;
  }
}
