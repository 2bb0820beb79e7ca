import { InputError, type InputIssue } from '@duskbank/core/input';
import { isNode, isScalar, LineCounter, parseDocument } from 'yaml';
import { inputFault } from './fail.ts';
import { MAX_DOCUMENT_BYTES, readInput } from './read.ts';

/** Aliases that a YAML file may resolve to: a bomb needs many, an honest file few. */
const MAX_ALIASES = 100;

/** A JSON or YAML file as plain data, and the line on which a field stands. */
export interface LoadedDocument {
  readonly file: string;
  readonly value: unknown;
  lineOf(path: readonly (string | number)[]): number | undefined;
}

/** Reads a JSON or YAML file. JSON is read as the YAML that it is, so that doubled keys and bad syntax name their line. */
export function loadDocument(file: string): LoadedDocument {
  const bytes = readInput(file, MAX_DOCUMENT_BYTES);
  const text = decode(bytes, file);
  const lines = new LineCounter();
  const document = parseDocument(text, { lineCounter: lines, prettyErrors: false, uniqueKeys: true });
  const faults = document.errors;
  if (faults.length > 0)
    throw new InputError(
      faults.slice(0, 5).map((fault): InputIssue => {
        const { line } = lines.linePos(fault.pos[0]);
        return {
          code: fault.code === 'DUPLICATE_KEY' ? 'duplicate-key' : 'bad-syntax',
          where: { file, line },
          received: fault.message.split('\n')[0]!.slice(0, 160),
          expected: fault.code === 'DUPLICATE_KEY' ? 'each key once' : 'JSON or YAML',
          hint:
            fault.code === 'DUPLICATE_KEY'
              ? 'remove one of the two'
              : 'look for a missing comma, quote or bracket there or just above',
        };
      }),
    );
  let value: unknown;
  try {
    value = document.toJS({ maxAliasCount: MAX_ALIASES });
  } catch (error) {
    throw inputFault({
      code: 'too-many-aliases',
      where: { file },
      received: (error as Error).message.slice(0, 160),
      expected: `at most ${MAX_ALIASES} resolved aliases`,
      hint: 'write the repeated parts out',
    });
  }
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
  const notText = (received: string) =>
    inputFault({
      code: 'not-text',
      where: { file },
      received,
      expected: 'a JSON or YAML file in UTF-8',
      hint: 'was another file meant?',
    });
  if (bytes.includes(0)) throw notText('binary data');
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    throw notText('bytes that are no UTF-8');
  }
}
