import * as z from 'zod';
import { isPlain, showKey, showValue } from '../words/quote.ts';
import { MAX_DEPTH, tooDeep } from './depth.ts';
import { formatPath, type InputIssue } from './issue.ts';
import { numberCure } from './number-cure.ts';
import { meantName, nearestName, unknownKeyHint } from './suggest.ts';

/** Faults that are told at most, and unknown keys of one object: beyond them the file is another than was meant. */
const MOST_ISSUES = 200;
const MOST_KEYS = 20;

/** Keys that would reach an object's prototype: refused wherever they stand. */
const PROTOTYPE_KEYS = ['__proto__', 'constructor', 'prototype'];

/**
 * An object schema that refuses unknown keys and remembers its own, so that a typing error gets
 * "did you mean". Use it for every object in a file of ours.
 */
export function fields<Shape extends z.core.$ZodLooseShape>(shape: Shape) {
  const known = Object.keys(shape);
  return z.strictObject(shape, {
    error: (issue) => (issue.code === 'unrecognized_keys' ? known.join(',') : undefined),
  });
}

/** Finds keys that reach an object's prototype, at any depth. A value within itself is looked at once. */
function prototypeIssues(document: unknown, base: readonly (string | number)[], file: string | undefined) {
  const found: InputIssue[] = [];
  const seen = new Set<object>();
  const left: { value: unknown; path: (string | number)[] }[] = [{ value: document, path: [...base] }];
  while (left.length > 0) {
    const { value, path } = left.pop()!;
    if (typeof value !== 'object' || value === null || ArrayBuffer.isView(value) || seen.has(value)) continue;
    seen.add(value);
    if (path.length - base.length >= MAX_DEPTH) return [tooDeep(file, { path: path.slice(0, 3) })];
    const inner: typeof left = [];
    for (const key of Object.keys(value)) {
      const at = [...path, Array.isArray(value) ? Number(key) : key];
      if (!Array.isArray(value) && PROTOTYPE_KEYS.includes(key))
        found.push({
          code: 'forbidden-key',
          where: { file, path: at },
          received: showKey(key),
          expected: 'no key that reaches an object prototype',
          hint: 'remove it',
        });
      else inner.push({ value: (value as Record<string, unknown>)[key], path: at });
    }
    // The first is popped first: faults come in the document's order.
    left.push(...inner.reverse());
  }
  return found;
}

/** The outcome of checking a document: the typed value, or every fault found. */
export type Checked<T> = { ok: true; value: T } | { ok: false; issues: InputIssue[] };

/**
 * Checks an untrusted document against a schema and turns each fault into an {@link InputIssue}.
 *
 * @param file name to show in messages
 * @param base path of `document` inside the file it came from
 */
export function checkDocument<Schema extends z.ZodType>(
  schema: Schema,
  document: unknown,
  file?: string,
  base: readonly (string | number)[] = [],
): Checked<z.output<Schema>> {
  const issues = prototypeIssues(document, base, file);
  if (issues[0]?.code === 'too-deep') return { ok: false, issues };
  const result = schema.safeParse(document, { reportInput: true, jitless: true });
  if (result.success && issues.length === 0) return { ok: true, value: result.data };
  const found = result.error?.issues.slice(0, MOST_ISSUES) ?? [];
  const misspelt = misspeltIn(found);
  for (const issue of found) if (!isOfMisspelt(issue, misspelt)) collect(issue, document, file, base, issues);
  return { ok: false, issues: issues.map((issue) => withName(issue, document, base.length)) };
}

/** Fields that were meant by keys that an object doesn't know, by the object's place. */
function misspeltIn(found: readonly z.core.$ZodIssue[]): ReadonlyMap<string, readonly string[]> {
  return new Map(
    found.flatMap((issue) => {
      if (issue.code !== 'unrecognized_keys') return [];
      const known = issue.message.split(',');
      const meant = issue.keys.slice(0, MOST_KEYS).flatMap((key) => meantName(key, known) ?? []);
      return meant.length === 0 ? [] : [[JSON.stringify(issue.path), meant] as const];
    }),
  );
}

/** Whether a fault says of a misspelt field alone that it isn't there: "did you mean" has said it. */
function isOfMisspelt(issue: z.core.$ZodIssue, misspelt: ReadonlyMap<string, readonly string[]>): boolean {
  if (issue.code === 'custom') {
    const isAbsence = issue.params?.code === 'missing' || issue.params?.code === 'one-of';
    return isAbsence && misspelt.has(JSON.stringify(issue.path));
  }
  if (issue.code !== 'invalid_type' || issue.input !== undefined) return false;
  const meant = misspelt.get(JSON.stringify(issue.path.slice(0, -1)));
  return meant?.includes(String(issue.path.at(-1))) === true;
}

/** Says whose fault it is, where the path goes through a list entry that has a `name`. */
function withName(issue: InputIssue, document: unknown, skip: number): InputIssue {
  const path = (issue.where.path ?? []).slice(skip);
  for (let end = path.length; end > 0; end--) {
    if (typeof path[end - 1] !== 'number') continue;
    const entry = valueAt(document, path.slice(0, end));
    const name = typeof entry === 'object' && entry !== null ? (entry as { name?: unknown }).name : undefined;
    if (typeof name === 'string') return { ...issue, where: { ...issue.where, name } };
  }
  return issue;
}

function collect(
  issue: z.core.$ZodIssue,
  document: unknown,
  file: string | undefined,
  base: readonly (string | number)[],
  issues: InputIssue[],
): void {
  const inner = issue.path.map((part) => (typeof part === 'symbol' ? String(part) : part)) as (string | number)[];
  const path = [...base, ...inner];
  const where = { file, path };
  const value = valueAt(document, inner);
  // A starter file leaves blank what its author has to fill in.
  const blank = value === null && inner.length > 0;
  if (blank && issue.code === 'invalid_type') {
    issues.push({
      code: 'wrong-type',
      where,
      received: 'a blank',
      expected: `${blankFor(expectation(issue))}: fill it in`,
    });
    return;
  }
  const received = blank ? 'a blank' : typeof value === 'number' ? numberOfFile(value) : showValue(value);
  switch (issue.code) {
    case 'unrecognized_keys': {
      const known = issue.message.split(',').filter((name) => name !== '');
      for (const key of issue.keys.filter((name) => !PROTOTYPE_KEYS.includes(name)).slice(0, MOST_KEYS)) {
        if (/^\d+$/.test(key)) {
          issues.push(decimalComma(key, valueAt(document, inner), { file, path: [...path, key] }));
          continue;
        }
        issues.push({
          code: 'unknown-key',
          where: { file, path: [...path, key] },
          received: showKey(key),
          expected: `one of ${known.join(', ')}`,
          hint: unknownKeyHint(key, known),
        });
      }
      return;
    }
    case 'invalid_union': {
      if (issue.errors.length === 0) {
        // A union told apart by one field whose value is none of those known; the message lists them.
        const options = /one of (.+)$/.exec(issue.message)?.[1]?.split(', ') ?? [];
        const value = valueAt(document, inner);
        const near = typeof value === 'string' ? nearestName(value, options) : undefined;
        issues.push({
          code: value === undefined ? 'missing' : 'not-allowed',
          where,
          received,
          expected: issue.message,
          ...(near === undefined ? {} : { hint: `did you mean "${near}"?` }),
        });
        return;
      }
      // The branch that got furthest says most about what was meant.
      let deepest: z.core.$ZodIssue[] = [];
      let depth = -1;
      for (const branch of issue.errors) {
        const reach = Math.max(
          ...branch.map((inner) => inner.path.length * 10 + (inner.code === 'invalid_type' ? 0 : 1)),
        );
        if (reach > depth) {
          depth = reach;
          deepest = branch;
        }
      }
      if (depth >= 10) {
        for (const nested of deepest)
          collect({ ...nested, path: [...issue.path, ...nested.path] }, document, file, base, issues);
        return;
      }
      // A union told apart by a key has no branch to report on: its own message says what was wanted.
      const options =
        issue.errors.length === 0 ? [issue.message] : issue.errors.flat().map((nested) => expectation(nested));
      issues.push({ code: 'wrong-type', where, received, expected: [...new Set(options)].join(', or ') });
      return;
    }
    case 'invalid_type':
      issues.push({
        code: valueAt(document, inner) === undefined ? 'missing' : 'wrong-type',
        where,
        received,
        expected: expectation(issue),
        ...(valueAt(document, inner) === undefined && inner.length > 0
          ? { hint: `add "${formatPath(inner.slice(-1))}"` }
          : isQuotedNumber(issue.expected, valueAt(document, inner))
            ? { hint: 'write the number without quotes' }
            : numberHint(issue.expected, valueAt(document, inner))),
      });
      return;
    case 'too_small':
    case 'too_big':
    case 'not_multiple_of':
      issues.push({
        code: 'out-of-range',
        where,
        received,
        expected: expectation(issue),
        ...percentHint(issue, value),
      });
      return;
    case 'invalid_value': {
      const options = issue.values.map(String);
      const value = valueAt(document, inner);
      const near = typeof value === 'string' ? nearestName(value, options) : undefined;
      const addition = value === undefined && inner.length > 0 ? `add "${formatPath(inner.slice(-1))}"` : undefined;
      issues.push({
        code: value === undefined ? 'missing' : 'not-allowed',
        where,
        received,
        expected: expectation(issue),
        ...(near !== undefined
          ? { hint: `did you mean "${near}"?` }
          : addition === undefined
            ? {}
            : { hint: addition }),
      });
      return;
    }
    case 'custom': {
      const code = (issue.params?.code as string | undefined) ?? 'invalid';
      const hint = issue.params?.hint as string | undefined;
      const shown = (issue.params?.received as string | undefined) ?? received;
      issues.push({ code, where, received: shown, expected: issue.message, ...(hint === undefined ? {} : { hint }) });
      return;
    }
    default:
      issues.push({ code: 'wrong-form', where, received, expected: expectation(issue) });
  }
}

/** What a schema wanted, in words: numbers with their bounds, words with their list. */
function expectation(issue: z.core.$ZodIssue): string {
  switch (issue.code) {
    case 'invalid_type':
      return ARTICLE[issue.expected] ?? issue.expected;
    case 'too_small':
      return issue.origin === 'array' || issue.origin === 'string'
        ? `at least ${issue.minimum} ${issue.origin === 'array' ? 'entries' : 'characters'}`
        : `${issue.inclusive ? 'at least' : 'more than'} ${issue.minimum}`;
    case 'too_big':
      return issue.origin === 'array' || issue.origin === 'string'
        ? `at most ${issue.maximum} ${issue.origin === 'array' ? 'entries' : 'characters'}`
        : `${issue.inclusive ? 'at most' : 'less than'} ${issue.maximum}`;
    case 'invalid_value':
      return issue.values.length === 1 ? JSON.stringify(issue.values[0]) : `one of ${issue.values.join(', ')}`;
    default:
      return issue.message;
  }
}

const ARTICLE: Record<string, string> = {
  number: 'a finite number',
  int: 'a whole number',
  string: 'a text in quotes',
  boolean: 'true or false',
  object: 'an object { … }',
  array: 'a list [ … ]',
  record: 'an object { … }',
};

/** What a blank stands for, in the words of whoever fills in a form. */
function blankFor(expected: string): string {
  return { 'a finite number': 'a number', 'a text in quotes': 'a text' }[expected] ?? expected;
}

function isQuotedNumber(expected: string, value: unknown): boolean {
  return (
    (expected === 'number' || expected === 'int') &&
    typeof value === 'string' &&
    value.trim() !== '' &&
    Number.isFinite(Number(value)) &&
    // "1.200" is 1200 for many.
    numberCure(value) === undefined
  );
}

/** In place of a cure that would repeat a long number. */
const POINT_HINT = 'write it with a decimal point';

/** How to write a number that stands there as a text with commas or marks of thousands. */
function numberHint(expected: string, value: unknown): { hint?: string } {
  if ((expected !== 'number' && expected !== 'int') || typeof value !== 'string') return {};
  const cure = numberCure(value);
  if (cure === undefined) return {};
  const whole = Math.trunc(Number(cure));
  const isShown = Number.isNaN(whole) || showValue(whole) === String(whole);
  return { hint: `${isShown ? `write ${cure}` : POINT_HINT}, without quotes` };
}

/** A share of 1 that was written in percent; little above 1 is another mistake. */
function percentHint(issue: z.core.$ZodIssue, value: unknown): { hint?: string } {
  const ofOne = issue.code === 'too_big' && issue.origin === 'number' && issue.maximum === 1;
  if (!ofOne || typeof value !== 'number' || value < 2 || value > 100) return {};
  return { hint: `write ${Number((value / 100).toPrecision(12))} for ${value} %` };
}

/** A key of digits alone: what stands behind a decimal comma, since a comma parts one field from the next. */
/** A number of a file: YAML's `.inf` and `.nan`, and 1e999, are no finite ones. */
function numberOfFile(value: number): string {
  if (Number.isFinite(value)) return showValue(value);
  return Number.isNaN(value) ? 'what is no number' : 'an infinite number';
}

function decimalComma(digits: string, holder: unknown, where: InputIssue['where']): InputIssue {
  // The field before the comma holds a whole number. Keys of digits have lost their place among the others.
  const fieldsBefore = Object.entries(holder as object).filter(
    ([key, value]) => !/^\d+$/.test(key) && typeof value === 'number' && Number.isInteger(value),
  );
  const [only] = fieldsBefore.length === 1 ? fieldsBefore : [];
  const fault = {
    code: 'decimal-comma',
    where,
    expected: 'decimals with a point: a comma begins the next field',
  } as const;
  const written = `${only?.[1] ?? 0},${digits}`;
  // A number of an account is no decimal, and isn't repeated.
  if (!isPlain(written))
    return { ...fault, received: only === undefined ? showKey(digits) : showKey(only[0]), hint: POINT_HINT };
  return {
    ...fault,
    received: only === undefined ? showKey(digits) : `${showKey(only[0])} with ${written}`,
    hint: only === undefined ? `write 0.${digits} in place of ${written}` : `write ${numberCure(written)}`,
  };
}

function valueAt(document: unknown, path: readonly (string | number)[]): unknown {
  let value = document;
  for (const part of path) {
    if (typeof value !== 'object' || value === null) return undefined;
    value = (value as Record<string | number, unknown>)[part];
  }
  return value;
}
