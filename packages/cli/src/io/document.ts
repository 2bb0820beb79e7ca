import { InputError, type InputIssue, showValue } from '@duskbank/core/input';
import { type Document, isNode, isScalar, LineCounter, parseDocument, visit } from 'yaml';
import { inputFault } from './fail.ts';
import { MAX_DOCUMENT_BYTES, readInput } from './read.ts';

/** Aliases that a YAML file may resolve to: a bomb needs many, an honest file few. */
const MAX_ALIASES = 100;

/** Objects and lists within one another: a file of ours needs eight. Deeper ones would exhaust the parser. */
const MAX_DEPTH = 64;

/** A JSON or YAML file as plain data, and the line on which a field stands. */
export interface LoadedDocument {
  readonly file: string;
  readonly value: unknown;
  lineOf(path: readonly (string | number)[]): number | undefined;
}

/**
 * Reads a JSON or YAML file. JSON with a fault is read again as the YAML that it is, so that doubled keys and bad syntax
 * name their line; sound JSON is read by the runtime alone, in a tenth of the time.
 */
export function loadDocument(file: string): LoadedDocument {
  const bytes = readInput(file, MAX_DOCUMENT_BYTES);
  const text = decode(bytes, file);
  refuseDepth(text, file);
  const json = soundJson(text);
  let parsed = json === undefined ? parseWithLines(text, file) : undefined;
  const value = json === undefined ? parsed!.value : json;
  if (typeof value !== 'object' || value === null || Array.isArray(value))
    throw inputFault({
      code: 'wrong-type',
      where: { file },
      received:
        value === null
          ? 'nothing'
          : Array.isArray(value)
            ? 'a list'
            : `the ${typeof value} ${String(value).slice(0, 40)}`,
      expected: 'an object { … } with a "format"',
    });
  return {
    file,
    value,
    lineOf(path) {
      parsed ??= parseWithLines(text, file);
      const { document, lines } = parsed;
      for (let length = path.length; length >= 0; length--) {
        const part = path.slice(0, length);
        const node = length === 0 ? document.contents : document.getIn(part, true);
        // A key's own line says more than its value's, where the value begins further down.
        const pair = length > 0 ? keyRange(document.getIn(part.slice(0, -1), true), part[length - 1]!) : undefined;
        const offset = pair ?? (isNode(node) ? node.range?.[0] : undefined);
        if (offset !== undefined) return lines.linePos(offset).line;
      }
      return undefined;
    },
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

function parseWithLines(text: string, file: string): { value: unknown; document: Document; lines: LineCounter } {
  const lines = new LineCounter();
  // Doubled keys are looked for below: the parser compares each key with every other one.
  const document = parseDocument(text, { lineCounter: lines, prettyErrors: false, uniqueKeys: false });
  const faults = document.errors;
  if (faults.length > 0)
    throw new InputError(
      faults.slice(0, 5).map((fault): InputIssue => {
        const { line } = lines.linePos(fault.pos[0]);
        if (fault.message.includes('call stack')) return tooDeep(file, line);
        return {
          code: 'bad-syntax',
          where: { file, line },
          received: fault.message.split('\n')[0]!.slice(0, 160),
          expected: 'JSON or YAML',
          hint: 'look for a missing comma, quote or bracket there or just above',
        };
      }),
    );
  const issues = keyIssues(document, file, lines);
  if (issues.length > 0) throw new InputError(issues);
  try {
    return { value: document.toJS({ maxAliasCount: MAX_ALIASES }), document, lines };
  } catch (error) {
    if (error instanceof RangeError) throw new InputError([tooDeep(file)]);
    throw inputFault({
      code: 'too-many-aliases',
      where: { file },
      received: (error as Error).message.slice(0, 160),
      expected: `at most ${MAX_ALIASES} resolved aliases`,
      hint: 'write the repeated parts out',
    });
  }
}

/** Keys that stand twice in one object, and aliases of what they themselves stand in. */
function keyIssues(document: Document, file: string, lines: LineCounter): InputIssue[] {
  const issues: InputIssue[] = [];
  const lineAt = (offset: number | undefined) => (offset === undefined ? undefined : lines.linePos(offset).line);
  visit(document, {
    Map(_key, map) {
      const seen = new Map<string, number | undefined>();
      for (const { key } of map.items) {
        if (!isScalar(key)) continue;
        const name = String(key.value);
        const line = lineAt(key.range?.[0]);
        if (seen.has(name) && issues.length < 20)
          issues.push({
            code: 'duplicate-key',
            where: { file, line },
            received: `the key ${showValue(name)} again, after line ${seen.get(name)}`,
            expected: 'each key once',
            hint: 'remove one of the two',
          });
        else seen.set(name, line);
      }
    },
    Alias(_key, alias, path) {
      const source = alias.resolve(document);
      if (source === undefined) {
        issues.push({
          code: 'bad-syntax',
          where: { file, line: lineAt(alias.range?.[0]) },
          received: `*${alias.source}, an alias of nothing`,
          expected: `&${alias.source} before it`,
          hint: 'look for a typing error, or put a text that begins with * in quotes',
        });
        return undefined;
      }
      if (!path.some((node) => node === source)) return undefined;
      issues.push({
        code: 'circular-alias',
        where: { file, line: lineAt(alias.range?.[0]) },
        received: `*${alias.source}, which holds itself`,
        expected: 'an alias of something complete',
        hint: 'write the repeated part out',
      });
      return visit.BREAK;
    },
  });
  return issues;
}

/** Counts brackets, indents and dashes before anything is parsed. Brackets in quotes count too: no file has 64 of them. */
function refuseDepth(text: string, file: string): void {
  let depth = 0;
  let line = 1;
  for (let i = 0; i < text.length; i++) {
    const code = text.charCodeAt(i);
    if (code === 10) line++;
    else if (code === 91 || code === 123) {
      if (++depth > MAX_DEPTH) throw new InputError([tooDeep(file, line)]);
    } else if ((code === 93 || code === 125) && depth > 0) depth--;
  }
  const compact = new RegExp(`^(?:[ \\t]*(?:[-?:]|[&!][^ \\t\\n]*)(?=[ \\t]|$)){${MAX_DEPTH}}`, 'm').exec(text);
  if (compact !== null) throw new InputError([tooDeep(file, text.slice(0, compact.index).split('\n').length)]);
}

function tooDeep(file: string, line?: number): InputIssue {
  return {
    code: 'too-deep',
    where: { file, ...(line === undefined ? {} : { line }) },
    received: `objects or lists more than ${MAX_DEPTH} deep`,
    expected: 'at most eight levels, as the file format has',
    hint: 'look for brackets that are never closed; "duskbank schema site" prints the format',
  };
}

function keyRange(parent: unknown, key: string | number): number | undefined {
  const items = (parent as { items?: unknown[] } | undefined)?.items;
  if (!Array.isArray(items) || typeof key === 'number') return undefined;
  for (const item of items) {
    const name = (item as { key?: unknown }).key;
    if (isScalar(name) && String(name.value) === key) return name.range?.[0];
  }
  return undefined;
}

/** Runs what checks a document, and gives each fault the line that its field stands on. */
export function withLines<T>(document: LoadedDocument, check: () => T): T {
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

function decode(bytes: Uint8Array, file: string): string {
  const notText = (received: string, hint: string, line?: number) =>
    inputFault({
      code: 'not-text',
      where: { file, ...(line === undefined ? {} : { line }) },
      received,
      expected: 'a JSON or YAML file in UTF-8',
      hint,
    });
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
