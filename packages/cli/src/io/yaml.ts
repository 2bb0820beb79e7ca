import {
  InputError,
  type InputIssue,
  numberCure,
  showKey,
  showValue,
  tooDeep,
  type YamlDecoder,
} from '@duskbank/core/input';
import { type Document, type ErrorCode, isNode, isScalar, LineCounter, parseDocument, visit } from 'yaml';
import { inputFault } from './fail.ts';

/** Aliases that a YAML file may resolve to: a bomb needs many, an honest file few. */
const MAX_ALIASES = 100;

/** Reads YAML for core, which doesn't carry it, and tells on which line a field stands. */
export const yaml: YamlDecoder = (text, file) => {
  const { value, document, lines } = parseWithLines(text, file);
  return {
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
};

/** What the parser found, in our words: its own quote the file. */
const SYNTAX: Readonly<Partial<Record<ErrorCode, string>>> = {
  ALIAS_PROPS: 'an alias with an anchor or a tag of its own',
  BAD_ALIAS: 'an alias or an anchor (a text that begins with * or &) that is none',
  BAD_COLLECTION_TYPE: 'a tag (a text that begins with !) that does not fit what follows it',
  BAD_DIRECTIVE: 'a line that begins with % and is no directive',
  BAD_DQ_ESCAPE: 'a backslash that begins no escape, in double quotes',
  BAD_INDENT: 'a line that is indented otherwise than those it belongs to',
  BAD_PROP_ORDER: 'an anchor or a tag before the sign that it belongs behind',
  BAD_SCALAR_START: 'a text that begins with @, ` or another sign that needs quotes',
  BLOCK_AS_IMPLICIT_KEY: 'a colon followed by another key, or a list, on the same line',
  BLOCK_IN_FLOW: 'indented lines within brackets',
  KEY_OVER_1024_CHARS: 'a key of more than 1024 characters',
  MISSING_CHAR: 'a place where a comma, a colon, a quote, a dash or a closing bracket is missing',
  MULTILINE_IMPLICIT_KEY: 'a key over several lines, or a line without a colon',
  MULTIPLE_ANCHORS: 'two anchors (texts that begin with &) for one value',
  MULTIPLE_DOCS: 'several documents in one file, parted by ---',
  MULTIPLE_TAGS: 'two tags (texts that begin with !) for one value',
  TAB_AS_INDENT: 'a tab as indent: YAML takes spaces alone',
  TAG_RESOLVE_FAILED: 'a tag (a text that begins with !) that is not known',
  UNEXPECTED_TOKEN: 'a sign or a text where none can stand',
};

function parseWithLines(text: string, file: string): { value: unknown; document: Document; lines: LineCounter } {
  const lines = new LineCounter();
  // Doubled keys are looked for below: the parser compares each key with every other one.
  const document = parseDocument(text, {
    lineCounter: lines,
    prettyErrors: false,
    uniqueKeys: false,
    // Its warnings quote the file, on stderr.
    logLevel: 'error',
  });
  const faults = document.errors;
  if (faults.length > 0)
    throw new InputError(
      faults.slice(0, 5).map((fault): InputIssue => {
        const { line } = lines.linePos(fault.pos[0]);
        if (fault.message.includes('call stack')) return tooDeep(file, line);
        return {
          code: 'bad-syntax',
          where: { file, line },
          received: SYNTAX[fault.code] ?? 'something else',
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
    if (error instanceof RangeError) throw error;
    throw inputFault(tooManyAliases(file));
  }
}

function tooManyAliases(file: string): InputIssue {
  return {
    code: 'too-many-aliases',
    where: { file },
    received: 'aliases that stand for very much',
    expected: `at most ${MAX_ALIASES} resolved aliases`,
    hint: 'write the repeated parts out',
  };
}

/** Keys that stand twice in one object, and aliases of what they themselves stand in. */
function keyIssues(document: Document, file: string, lines: LineCounter): InputIssue[] {
  const issues: InputIssue[] = [];
  let aliases = 0;
  const lineAt = (offset: number | undefined) => (offset === undefined ? undefined : lines.linePos(offset).line);
  visit(document, {
    Map(_key, map) {
      const seen = new Map<string, number | undefined>();
      for (const [k, { key, value }] of map.items.entries()) {
        if (!isScalar(key)) continue;
        const name = String(key.value);
        const line = lineAt(key.range?.[0]);
        const before = map.items[k - 1];
        if (value === null && isDigits(key) && isScalar(before?.key) && isDigits(before.value, true)) {
          issues.push(decimalComma(String(before.key.value), before.value.source, key.source, { file, line }));
          continue;
        }
        if (seen.has(name) && issues.length < 20)
          issues.push({
            code: 'duplicate-key',
            where: { file, line },
            received: `${showKey(name)} again, after line ${seen.get(name)}`,
            expected: 'each key once',
            hint: 'remove one of the two',
          });
        else seen.set(name, line);
      }
    },
    Scalar(_key, node) {
      if (typeof node.value !== 'number' || !/^[-+]?0[xob]/i.test(node.source ?? '') || issues.length >= 20) return;
      issues.push({
        code: 'bad-number',
        where: { file, line: lineAt(node.range?.[0]) },
        received: 'a hexadecimal or octal number',
        expected: 'a number in decimals',
        hint: 'write it in decimals, or put it in quotes where it is a name',
      });
    },
    Alias(_key, alias, path) {
      // Counted first: each is looked up in the whole document.
      if (++aliases > MAX_ALIASES) {
        issues.push(tooManyAliases(file));
        return visit.BREAK;
      }
      const source = alias.resolve(document);
      if (source === undefined) {
        issues.push({
          code: 'bad-syntax',
          where: { file, line: lineAt(alias.range?.[0]) },
          received: `the alias ${showValue(`*${alias.source}`)}, which stands for nothing`,
          expected: 'its anchor (& and the same name) before it',
          hint: 'look for a typing error, or put a text that begins with * in quotes',
        });
        return undefined;
      }
      if (!path.some((node) => node === source)) return undefined;
      issues.push({
        code: 'circular-alias',
        where: { file, line: lineAt(alias.range?.[0]) },
        received: `the alias ${showValue(`*${alias.source}`)}, which holds itself`,
        expected: 'an alias of something complete',
        hint: 'write the repeated part out',
      });
      return visit.BREAK;
    },
  });
  return issues;
}

/** A scalar of digits alone, unquoted, as it is written; points between thousands may stand among them where it is said. */
function isDigits(node: unknown, withPoints = false): node is { readonly source: string } {
  const digits = withPoints ? /^[+-]?\d+(\.\d{3})*$/ : /^[+-]?\d+$/;
  return isScalar(node) && node.type === 'PLAIN' && digits.test(node.source ?? '');
}

/** `price: 0,14` within braces: a comma begins the next field, so that 14 is a key without a value. */
function decimalComma(field: string, whole: string, decimals: string, where: InputIssue['where']): InputIssue {
  const written = `${whole},${decimals}`;
  // A number of an account is no decimal, and isn't repeated.
  const isShown = showValue(written) === JSON.stringify(written);
  return {
    code: 'decimal-comma',
    where,
    received: isShown ? `${showKey(field)} with ${written}` : showKey(field),
    expected: 'decimals with a point: a comma begins the next field',
    hint: isShown ? `write ${numberCure(written) ?? `${whole}.${decimals}`}` : 'write it with a decimal point',
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
