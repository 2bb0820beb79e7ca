import { showName, showValue } from '../words/quote.ts';
import { MAX_DEPTH, tooDeep } from './depth.ts';
import { InputError, type InputIssue } from './issue.ts';

/** A document as plain data, and the line on which a field stands. */
export interface SourceDocument {
  readonly file: string;
  readonly value: object;
  /** Line of a field, from 1; of what it stands in where the field itself is missing; undefined where nobody can tell. */
  lineOf(path: readonly (string | number)[]): number | undefined;
}

/**
 * Reads YAML, which core doesn't carry. JSON is YAML too: it is also asked where JSON has a fault, or for its lines.
 *
 * It throws an InputError on bad syntax, and a RangeError where nesting exhausts it.
 */
export type YamlDecoder = (text: string, file: string) => Pick<SourceDocument, 'lineOf'> & { readonly value: unknown };

/**
 * Reads the bytes of a JSON or YAML file. JSON with a fault is read again as the YAML that it is, so that doubled keys
 * and bad syntax name their line; sound JSON is read by the runtime alone, in a tenth of the time.
 *
 * @param yaml reads YAML; without it only JSON can be read, and faults carry no line
 * @throws InputError `not-text`, `too-deep`, `bad-syntax`, `duplicate-key`, `wrong-type`, and what `yaml` throws
 */
export function decodeDocument(bytes: Uint8Array, file: string, yaml?: YamlDecoder): SourceDocument {
  const text = decodeUtf8(bytes, file);
  refuseDepth(text, file);
  const json = soundJson(text);
  let parsed = json === undefined ? parseWithLines(text, file, yaml) : undefined;
  const value = json === undefined ? parsed!.value : json;
  if (typeof value !== 'object' || value === null || Array.isArray(value))
    throw new InputError([
      {
        code: 'wrong-type',
        where: { file },
        received:
          value === null
            ? 'nothing'
            : Array.isArray(value)
              ? 'a list'
              : typeof value === 'string'
                ? 'plain text'
                : `the ${typeof value} ${showValue(value)}`,
        expected: 'an object { … } with a "format"',
      },
    ]);
  return {
    file,
    value,
    lineOf(path) {
      if (yaml === undefined) return undefined;
      parsed ??= parseWithLines(text, file, yaml);
      // A decoder is somebody else's: a line that is none would hide the fault that it belongs to.
      const line = parsed.lineOf(path);
      return Number.isInteger(line) ? line : undefined;
    },
  };
}

/** Runs what checks a document, and gives each fault the line that its field stands on. */
export function withLines<T>(document: SourceDocument, check: () => T): T {
  try {
    return check();
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    throw new InputError(
      error.issues.map((issue) => {
        const { where } = issue;
        if (where.line !== undefined || where.path === undefined) return issue;
        if (where.file !== undefined && where.file !== document.file) return issue;
        return { ...issue, where: { file: document.file, line: document.lineOf(where.path), ...where } };
      }),
    );
  }
}

function parseWithLines(text: string, file: string, yaml: YamlDecoder | undefined): ReturnType<YamlDecoder> {
  if (yaml === undefined) throw new InputError([jsonFault(text, file)]);
  let read: ReturnType<YamlDecoder>;
  try {
    read = yaml(text, file);
  } catch (error) {
    // A parser that runs out of stack met nesting that no file of ours has.
    if (error instanceof RangeError) throw new InputError([tooDeep(file)]);
    throw error;
  }
  if (typeof read !== 'object' || read === null || typeof read.lineOf !== 'function')
    throw new InputError([
      {
        code: 'wrong-type',
        where: { path: ['yaml'] },
        received: `${showValue(read)}, given back for ${showName(file)}`,
        expected: 'an object { value, lineOf(path) }',
        hint: 'the decoder that reads YAML gives both back at once, not as a promise',
      },
    ]);
  return read;
}

/** What is wrong with a JSON text that can't be read as YAML for lack of a decoder. */
function jsonFault(text: string, file: string): InputIssue {
  try {
    JSON.parse(text);
  } catch {
    return {
      code: 'bad-syntax',
      where: { file },
      received: 'text that is no JSON',
      expected: 'JSON',
      hint: 'look for a missing comma, quote or bracket; YAML can be read where the program hands over a decoder of it',
    };
  }
  return {
    code: 'duplicate-key',
    where: { file },
    received: 'an object with one key twice',
    expected: 'each key once',
    hint: 'remove one of the two',
  };
}

/** What a JSON text holds; undefined where it is no JSON, or names a key of an object twice. */
function soundJson(text: string): unknown {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    return undefined;
  }
  let written = 0;
  for (const [, colon] of text.matchAll(/"(?:[^"\\]|\\.)*"\s*(:)?/g)) if (colon !== undefined) written++;
  return written === countKeys(value) ? value : undefined;
}

function countKeys(value: unknown): number {
  if (typeof value !== 'object' || value === null) return 0;
  const inner = Object.values(value);
  let count = Array.isArray(value) ? 0 : inner.length;
  for (const part of inner) count += countKeys(part);
  return count;
}

/** Counts brackets and dashes before anything is parsed; indents show in what a parser gives. Brackets in quotes count too: no file has 64 of them. */
function refuseDepth(text: string, file: string): void {
  let depth = 0;
  let line = 1;
  for (let i = 0; i < text.length; i++) {
    const code = text.charCodeAt(i);
    if (code === 10) line++;
    else if (code === 91 || code === 123) {
      if (++depth > MAX_DEPTH) throw new InputError([tooDeep(file, { line })]);
    } else if ((code === 93 || code === 125) && depth > 0) depth--;
  }
  const compact = new RegExp(`^(?:[ \\t]*(?:[-?:]|[&!][^ \\t\\n]*)(?=[ \\t]|$)){${MAX_DEPTH}}`, 'm').exec(text);
  if (compact !== null)
    throw new InputError([tooDeep(file, { line: text.slice(0, compact.index).split('\n').length })]);
}

function decodeUtf8(bytes: Uint8Array, file: string): string {
  const notText = (received: string, hint: string, line?: number) =>
    new InputError([
      {
        code: 'not-text',
        where: { file, ...(line === undefined ? {} : { line }) },
        received,
        expected: 'a JSON or YAML file in UTF-8',
        hint,
      },
    ]);
  if ((bytes[0] === 0xff && bytes[1] === 0xfe) || (bytes[0] === 0xfe && bytes[1] === 0xff))
    throw notText('text in UTF-16', 'save it as UTF-8');
  if (bytes.includes(0)) throw notText('binary data', 'was another file meant?');
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    throw notText('bytes that are no UTF-8', 'save it as UTF-8', lineOfBadBytes(bytes));
  }
}

/** Line of the first bytes that are no UTF-8. */
function lineOfBadBytes(bytes: Uint8Array): number {
  const text = new TextDecoder('utf-8').decode(bytes);
  // What can't be read is replaced by U+FFFD.
  return text.slice(0, text.indexOf('\ufffd')).split('\n').length;
}
