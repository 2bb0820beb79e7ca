import { showValue } from '../words/quote.ts';
import { InputError, type InputIssue } from './issue.ts';

/** The address of a value in the arguments of a call, such as `['plant', 'capacityKwh']`. */
type ArgumentPath = readonly (string | number)[];

/** One look at the arguments of a call: the faults so far, and how long the axis among them is. */
interface Looking {
  readonly issues: InputIssue[];
  /** Length that series must have; undefined as long as no sound axis was met. */
  intervals: number | undefined;
}

/** Looks at one value and reports what is wrong with it. */
export type Rule = (value: unknown, path: ArgumentPath, looking: Looking) => void;

/** A rule for each field, so that no field of an argument is left without one. */
export type RulesOf<T> = { readonly [Field in keyof T]-?: Rule };

/** Faults that are told at most. */
const MOST_ISSUES = 50;
/** Fields of fields that are looked into: deeper than any argument of ours goes. */
const DEEPEST = 30;

/**
 * The door of an exported function: looks at its arguments by name and refuses what is wrong, all of it at once, before
 * anything is computed. Name the axis first: series are held to its length.
 *
 * @param intervals length that series must have where there is no axis among the arguments
 * @throws InputError `missing` | `wrong-type` | `length-mismatch` | `not-finite` | `out-of-range` | `not-allowed`
 * @example check({ axis, loadKwh }, { axis: anAxis, loadKwh: series({ least: 0 }) })
 */
export function check<Arguments extends object>(given: Arguments, rules: RulesOf<Arguments>, intervals?: number): void {
  const looking: Looking = { issues: [], intervals };
  record(rules)(given, [], looking);
  if (looking.issues.length > 0) throw new InputError(looking.issues.slice(0, MOST_ISSUES));
}

/** Reports a fault of a value. */
export function report(
  looking: Looking,
  path: ArgumentPath,
  code: string,
  received: unknown,
  expected: string,
  hint?: string,
): void {
  // Beyond what is told a fault still counts: whoever looks whether there are more than before must find one.
  if (looking.issues.length >= MOST_ISSUES) {
    looking.issues.push(looking.issues[0]!);
    return;
  }
  const where = path.length === 0 ? {} : { path };
  const issue = { code, where, received: showValue(received), expected };
  looking.issues.push(hint === undefined ? issue : { ...issue, hint });
}

function wrongType(looking: Looking, path: ArgumentPath, value: unknown, expected: string): void {
  report(looking, path, value === undefined ? 'missing' : 'wrong-type', value, expected);
}

/** Bounds of a number. Infinity is refused unless it is named, and 1e15 is the most where nothing else is. */
export interface Bounds {
  readonly least?: number;
  readonly most?: number;
  /** More than this. */
  readonly above?: number;
  /** Less than this. */
  readonly below?: number;
  readonly infinite?: boolean;
  readonly whole?: boolean;
}

/** Beyond this a double no longer holds what a year's sums add to it: a finite number of ours is nearer to 0. */
const MOST = 1e15;

function lies(value: number, { least, most, above, below, infinite, whole }: Bounds): boolean {
  if (Number.isNaN(value) || (infinite !== true && !within(value, least, most))) return false;
  if ((least !== undefined && value < least) || (most !== undefined && value > most)) return false;
  if (above === 0 && value < LEAST) return false;
  if ((above !== undefined && value <= above) || (below !== undefined && value >= below)) return false;
  return whole !== true || Number.isInteger(value);
}

/** More than 0 is at least this: what is divided by less has no bounds any more. */
const LEAST = 1e-9;

/** Whether a number is as near to 0 as its bounds ask, or {@link MOST} where they ask nothing. */
function within(value: number, least = -MOST, most = MOST): boolean {
  return value >= Math.max(least, -Number.MAX_VALUE) && value <= Math.min(most, Number.MAX_VALUE);
}

function wordsFor({ least, most, above, below, whole }: Bounds): string {
  const bounds = [
    ...(least === undefined ? [] : [`of at least ${least}`]),
    ...(above === undefined ? [] : [`above ${above}`]),
    ...(most === undefined ? [] : [`at most ${most}`]),
    ...(below === undefined ? [] : [`below ${below}`]),
  ];
  return [`a ${whole === true ? 'whole' : 'finite'} number`, bounds.join(', ')].filter((part) => part !== '').join(' ');
}

/** A number within bounds. */
export function number(bounds: Bounds = {}): Rule {
  return (value, path, looking) => {
    if (typeof value !== 'number') wrongType(looking, path, value, wordsFor(bounds));
    else if (!lies(value, bounds))
      report(looking, path, Number.isNaN(value) ? 'not-finite' : 'out-of-range', value, wordsFor(bounds));
  };
}

/** true or false. */
export const flag: Rule = (value, path, looking) => {
  if (typeof value !== 'boolean') wrongType(looking, path, value, 'true or false');
};

/** A text. */
export const text: Rule = (value, path, looking) => {
  if (typeof value !== 'string') wrongType(looking, path, value, 'a text');
};

/** A function that the caller brings. */
export const callable: Rule = (value, path, looking) => {
  if (typeof value !== 'function') wrongType(looking, path, value, 'a function');
};

/** Whatever it is: another rule, or the function itself, looks at it. */
export const anything: Rule = () => {};

/** One of a few values. */
export function oneOf(known: readonly (string | number)[], code = 'not-allowed'): Rule {
  return (value, path, looking) => {
    if (known.includes(value as string)) return;
    report(looking, path, value === undefined ? 'missing' : code, value, `one of ${known.join(', ')}`);
  };
}

/** May be left out. */
export function optional(rule: Rule): Rule {
  return (value, path, looking) => {
    if (value !== undefined) rule(value, path, looking);
  };
}

/** What an array of numbers must hold. */
export interface SeriesBounds extends Bounds {
  /** NaN stands for a gap. */
  readonly gaps?: boolean;
  /** @defaultValue the axis' length; null: any */
  readonly length?: number | null;
}

type NumberArray = 'Float64Array' | 'Int32Array' | 'Int16Array' | 'Uint8Array';

/** The type of an array by its own tag, so that one that came from another realm is known too. */
function isArrayOf(kind: NumberArray, value: unknown): value is Float64Array {
  return Object.prototype.toString.call(value) === `[object ${kind}]` && ArrayBuffer.isView(value);
}

function arrayOf(kind: NumberArray, bounds: SeriesBounds): Rule {
  const { gaps = false, infinite = false } = bounds;
  const { least = infinite ? Number.NEGATIVE_INFINITY : -MOST, most = infinite ? Number.POSITIVE_INFINITY : MOST } =
    bounds;
  return (value, path, looking) => {
    const length = bounds.length === undefined ? looking.intervals : bounds.length;
    if (!isArrayOf(kind, value)) {
      wrongType(looking, path, value, `a ${kind}`);
      return;
    }
    if (length !== undefined && length !== null && value.length !== length)
      report(looking, path, 'length-mismatch', value.length, `${length} entries, one for each interval`);
    // Each kind has its own loop: one loop for all of them takes four times as long.
    const find = kind === 'Float64Array' ? firstOutside : firstIntegerOutside;
    let at = find(value, 0, least, most);
    while (gaps && at >= 0 && Number.isNaN(value[at])) at = find(value, at + 1, least, most);
    if (at < 0) return;
    const code = Number.isFinite(value[at]) ? 'out-of-range' : 'not-finite';
    report(looking, [...path, at], code, value[at], `${wordsFor(bounds)}${gaps ? ', or NaN for a gap' : ''}`);
  };
}

/** The first entry that doesn't lie within bounds, or −1. NaN lies nowhere. */
function firstOutside(values: Float64Array, from: number, least: number, most: number): number {
  const n = values.length;
  let i = from;
  // Four at a time: a series is looked at whenever it comes in.
  for (; i + 3 < n; i += 4) {
    const a = values[i]!;
    const b = values[i + 1]!;
    const c = values[i + 2]!;
    const d = values[i + 3]!;
    if (!(a >= least && a <= most && b >= least && b <= most && c >= least && c <= most && d >= least && d <= most))
      break;
  }
  for (; i < n; i++) if (!(values[i]! >= least && values[i]! <= most)) return i;
  return -1;
}

function firstIntegerOutside(values: ArrayLike<number>, from: number, least: number, most: number): number {
  for (let i = from; i < values.length; i++) if (values[i]! < least || values[i]! > most) return i;
  return -1;
}

/** A `Float64Array` as long as the axis. */
export function series(bounds: SeriesBounds = {}): Rule {
  return arrayOf('Float64Array', bounds);
}

/** A `Float64Array` as long as the axis whose values are looked at where they are read. */
export const seriesUnread: Rule = (value, path, looking) => {
  const { intervals } = looking;
  if (!isArrayOf('Float64Array', value)) wrongType(looking, path, value, 'a Float64Array');
  else if (intervals !== undefined && value.length !== intervals)
    report(looking, path, 'length-mismatch', value.length, `${intervals} entries, one for each interval`);
};

/** A `Uint8Array` as long as the axis. */
export function bytes(bounds: SeriesBounds = {}): Rule {
  return arrayOf('Uint8Array', bounds);
}

/** Bytes of a file. */
export const someBytes: Rule = (value, path, looking) => {
  if (!isArrayOf('Uint8Array', value)) wrongType(looking, path, value, 'bytes in a Uint8Array');
};

/** An `Int16Array` as long as the axis. */
export function shorts(bounds: SeriesBounds = {}): Rule {
  return arrayOf('Int16Array', bounds);
}

/** An `Int32Array` as long as the axis. */
export function integers(bounds: SeriesBounds = {}): Rule {
  return arrayOf('Int32Array', bounds);
}

/** One number for all intervals, or a series. */
export function numberOrSeries(bounds: SeriesBounds = {}): Rule {
  const one = number(bounds);
  const many = series(bounds);
  return (value, path, looking) => (typeof value === 'number' ? one : many)(value, path, looking);
}

function entriesFrom(least: number, most: number): string {
  return most === Number.POSITIVE_INFINITY ? `at least ${least}` : `from ${least} to ${most} entries`;
}

/** A list, each entry by the same rule. */
export function list(rule: Rule, { least = 0, most = Number.POSITIVE_INFINITY } = {}): Rule {
  return (value, path, looking) => {
    if (!Array.isArray(value)) wrongType(looking, path, value, 'a list');
    else if (value.length < least || value.length > most)
      report(looking, path, 'out-of-range', `${value.length} entries`, entriesFrom(least, most));
    else {
      // A list of four billion holes would have a fault for each: what isn't told needs no looking for.
      const enough = looking.issues.length + MOST_ISSUES;
      for (let k = 0; k < value.length && looking.issues.length < enough; k++) rule(value[k], [...path, k], looking);
    }
  };
}

/** Numbers that rise from one to the next. */
export const rising: Rule = (value, path, looking) => {
  if (!Array.isArray(value)) return;
  for (let k = 1; k < value.length; k++)
    if (!(value[k] - value[k - 1] >= LEAST)) {
      report(looking, [...path, k], 'out-of-range', value[k], `more than the entry before, ${value[k - 1]}`);
      return;
    }
};

/** An object whose fields have rules each; what else it carries is left alone. */
export function record<T extends object>(rules: RulesOf<T>): Rule {
  return (value, path, looking) => {
    if (typeof value !== 'object' || value === null || Array.isArray(value) || ArrayBuffer.isView(value)) {
      wrongType(looking, path, value, 'an object { … }');
      return;
    }
    if (path.length > DEEPEST) {
      report(looking, path, 'too-deep', 'an object within itself', 'data without circles');
      return;
    }
    for (const field of Object.keys(rules) as (keyof T & string)[])
      rules[field]((value as T)[field], [...path, field], looking);
  };
}

/** Several rules in turn; a later one only where those before found nothing. */
export function both(...rules: readonly Rule[]): Rule {
  return (value, path, looking) => {
    const before = looking.issues.length;
    for (const rule of rules) {
      if (looking.issues.length > before) return;
      rule(value, path, looking);
    }
  };
}

/** A rule for what lies on an axis: once it is found sound, the series beside it are held to that length. */
export function spanning<T>(rule: Rule, intervalsOf: (value: T) => number): Rule {
  return (value, path, looking) => {
    const before = looking.issues.length;
    rule(value, path, looking);
    if (looking.issues.length === before) looking.intervals = intervalsOf(value as T);
  };
}

/** What a maker of ours makes. */
type Kind = 'axis' | 'plant on its axis' | 'tariff' | 'tariff on its axis' | 'strategy' | 'case' | 'site' | 'study';

/** What our own makers made, known by identity. A copy isn't known: it is looked at like anything else. */
const madeHere = new WeakMap<object, Kind>();

/** Marks what a maker made from checked input, so that no door looks at it again. */
export function vouchFor<Made extends object>(kind: Kind, made: Made): Made {
  madeHere.set(made, kind);
  return made;
}

/** Whether one of our makers made it, and as what. */
export function isMadeHere(kind: Kind, value: unknown): boolean {
  return typeof value === 'object' && value !== null && madeHere.get(value) === kind;
}

/** A rule for what makers of ours make: nothing to look at where they made it, and a copy of it is looked at once. */
export function unlessMadeHere(kind: Kind, rule: Rule): Rule {
  return (value, path, looking) => {
    if (isMadeHere(kind, value)) return;
    const before = looking.issues.length;
    rule(value, path, looking);
    if (looking.issues.length === before) vouchFor(kind, value as object);
  };
}
