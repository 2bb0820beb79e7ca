import type * as z from 'zod';
import { type BoundSide, bound } from '../words/bounds.ts';
import { showKey as keyShown, quoteName as nameQuoted, showName as nameShown } from '../words/quote.ts';
import { visibleJson as jsonSeen, visible as seen } from '../words/visible.ts';
import { tooDeep as tooDeepIn } from './depth.ts';
import { type Checked, checkDocument as checkAgainst, fields as fieldsOf } from './document.ts';
import { callable, check, list, number, oneOf, optional, type Rule, record, report, someBytes, text } from './door.ts';
import {
  areIssues,
  describeIssue as describe,
  formatPath as format,
  type InputIssue,
  isPath,
  reportIssue as reported,
} from './issue.ts';
import { decodeDocument as decode, type SourceDocument, type YamlDecoder } from './source.ts';
import { nearestName as nearest } from './suggest.ts';

/** A rule from a yes or no. */
const that =
  (good: (value: unknown) => boolean, expected: string): Rule =>
  (value, path, looking) => {
    if (!good(value)) report(looking, path, value === undefined ? 'missing' : 'wrong-type', value, expected);
  };

const aPath = that(isPath, 'a list of field names and numbers');
const aSchema = that((value) => typeof value === 'object' && value !== null && '_zod' in value, 'a zod schema');

const anIssue = that((value) => areIssues([value]), 'an issue');

/**
 * The issue as one sentence, its cure on a line of its own; no text of the input adds a line or a control character.
 * @throws InputError on anything but an issue
 */
export function describeIssue(issue: InputIssue): string {
  check({ issue }, { issue: anIssue });
  return describe(issue);
}

/**
 * An issue for reports in JSON: nothing in its place that may not be quoted, its sentence beside its fields.
 * @throws InputError on anything but an issue
 */
export function reportIssue(issue: InputIssue): InputIssue & { readonly message: string } {
  check({ issue }, { issue: anIssue });
  return reported(issue);
}

/**
 * A figure to so many decimals that is printed as a bound: `up` for "at most" and "up to", `down` for "at least" and "or
 * more", so that what is printed holds of the exact value too.
 * @throws InputError on anything but numbers and a side
 */
export function printedBound(value: number, side: BoundSide, decimals: number): number {
  check(
    { value, side, decimals },
    {
      value: number(),
      side: oneOf(['up', 'down']),
      decimals: number({ whole: true, least: 0, most: 9 }),
    },
  );
  return bound(value, side, decimals);
}

/**
 * A name or path of the user's as sentences and tables may hold it: visible, on one line, at most 200 characters.
 * @throws InputError on anything but a text
 */
export function showName(name: string): string {
  check({ name }, { name: text });
  return nameShown(name);
}

/**
 * A name that a file gives, as every sentence prints it: in quotation marks that it can't end by itself, visible, on one
 * line, without runs of blanks, at most 200 characters.
 * @throws InputError on anything but a text
 */
export function quoteName(name: string): string {
  check({ name }, { name: text });
  return nameQuoted(name);
}

/**
 * A key of a document for messages: `the key "price"`, or how long it is where it may not be quoted.
 * @throws InputError on anything but a text
 */
export function showKey(key: string): string {
  check({ key }, { key: text });
  return keyShown(key);
}

/**
 * A text on one line, with every character that can't be seen, or that a terminal would obey, written out: `\n`,
 * `\u001b`. Text of a file or an argument goes through this before a person reads it. A second time changes nothing.
 * @throws InputError on anything but a text
 */
export function visible(shown: string): string {
  check({ text: shown }, { text });
  return seen(shown);
}

/**
 * JSON whose strings mean what they meant, with nothing in it that a terminal obeys but line breaks of the layout.
 * @throws InputError on anything but a text
 */
export function visibleJson(json: string): string {
  check({ json }, { json: text });
  return jsonSeen(json);
}

/**
 * `windows[2].from`: a field's address as people write it.
 * @throws InputError on anything but a list of names and numbers
 */
export function formatPath(path: readonly (string | number)[]): string {
  check({ path }, { path: aPath });
  return format(path);
}

/**
 * The known name nearest to what was typed, or undefined where none is near: for "did you mean".
 * @throws InputError on anything but texts
 */
export function nearestName(typed: string, known: readonly string[]): string | undefined {
  check({ typed, known }, { typed: text, known: list(text) });
  return nearest(typed, known);
}

/**
 * An object schema that refuses unknown keys and remembers its own, so that a typing error gets
 * "did you mean". Use it for every object in a file of ours.
 *
 * @throws InputError on fields that are no schemas
 */
export function fields<Shape extends z.core.$ZodLooseShape>(shape: Shape) {
  const names = typeof shape === 'object' && shape !== null ? Object.keys(shape) : [];
  check({ shape }, { shape: record(Object.fromEntries(names.map((name) => [name, aSchema]))) });
  return fieldsOf(shape);
}

/**
 * Checks an untrusted document against a schema and turns each fault into an issue.
 *
 * @param file name to show in messages
 * @param base path of `document` inside the file it came from
 * @throws InputError on anything but a zod schema; what the document holds is never thrown
 */
export function checkDocument<Schema extends z.ZodType>(
  schema: Schema,
  document: unknown,
  file?: string,
  base: readonly (string | number)[] = [],
): Checked<z.output<Schema>> {
  check({ schema, file, base }, { schema: aSchema, file: optional(text), base: aPath });
  return checkAgainst(schema, document, file, base);
}

/**
 * Reads the bytes of a JSON or YAML file. JSON with a fault is read again as the YAML that it is, so that doubled keys
 * and bad syntax name their line; sound JSON is read by the runtime alone, in a tenth of the time.
 *
 * @param yaml reads YAML; without it only JSON can be read, and faults carry no line
 * @throws InputError `not-text`, `too-deep`, `bad-syntax`, `duplicate-key`, `wrong-type`, and what `yaml` throws
 */
export function decodeDocument(bytes: Uint8Array, file: string, yaml?: YamlDecoder): SourceDocument {
  check({ bytes, file, yaml }, { bytes: someBytes, file: text, yaml: optional(callable) });
  return decode(bytes, file, yaml);
}

/**
 * The fault of a document whose nesting no file format has.
 * @throws InputError on anything but a file's name and a line
 */
export function tooDeep(file: string, line?: number): InputIssue {
  check({ file, line }, { file: text, line: optional(number({ whole: true, least: 1 })) });
  return tooDeepIn(file, line === undefined ? {} : { line });
}
