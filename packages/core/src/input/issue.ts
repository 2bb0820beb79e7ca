import { isPlain, pathKey, showName, showValue } from './quote.ts';
import { visible } from './visible.ts';

/** Where in the user's input a fault lies. `line` counts from 1; `path` is the field's address in a document. */
export interface Where {
  readonly file?: string;
  readonly line?: number;
  /** A column of a table, or a flag of the command line such as `--at`. */
  readonly column?: string | number;
  readonly path?: readonly (string | number)[];
  /** Name of the list entry that the path goes through, where it has one. */
  readonly name?: string;
  /** The document and field that name `file`, where one does. */
  readonly namedIn?: { readonly file: string; readonly path: readonly (string | number)[] };
}

/** One fault in the user's input, as data: the sentence is made from it by {@link describeIssue}. */
export interface InputIssue {
  /** Stable, kebab-case: tests and programs match on this, never on the wording. */
  readonly code: string;
  readonly where: Where;
  /** The value that was found, printed short: a cell or a field, at most 40 characters of it, never a whole line. */
  readonly received: string;
  /** What would have been right. */
  readonly expected: string;
  /** How to mend it, where that isn't plain from `expected`. */
  readonly hint?: string;
}

/** Every fault of one input, thrown once. The command line prints all of them and exits with 2. */
export class InputError extends Error {
  readonly issues: readonly InputIssue[];

  constructor(issues: readonly InputIssue[]) {
    super(issues.map(describeIssue).join('\n'));
    this.name = 'InputError';
    this.issues = issues;
  }
}

/** `windows[2].from`: a field's address as people write it. */
export function formatPath(path: readonly (string | number)[]): string {
  let text = '';
  for (const part of path) {
    if (typeof part === 'number') text += `[${part}]`;
    else text += `${text === '' ? '' : '.'}${visible(pathKey(part))}`;
  }
  return text;
}

/** `site.json line 12, field "plant.battery.units"`. */
export function formatWhere(where: Where): string {
  const parts: string[] = [];
  const file = where.file === undefined ? undefined : showName(where.file);
  if (file !== undefined) parts.push(where.line === undefined ? file : `${file} line ${where.line}`);
  else if (where.line !== undefined) parts.push(`line ${where.line}`);
  if (where.column !== undefined)
    parts.push(
      String(where.column).startsWith('--') ? String(where.column) : `column "${showName(String(where.column))}"`,
    );
  if (where.path !== undefined && where.path.length > 0) {
    const name = where.name === undefined ? '' : ` of ${showValue(where.name)}`;
    parts.push(`field "${formatPath(where.path)}"${name}`);
  }
  return parts.join(', ');
}

/** An issue for reports in JSON: nothing in its place that may not be quoted, its sentence beside its fields. */
export function reportIssue(issue: InputIssue): InputIssue & { readonly message: string } {
  const { path, name } = issue.where;
  const where = {
    ...issue.where,
    ...(path === undefined ? {} : { path: path.map((part) => (typeof part === 'number' ? part : pathKey(part))) }),
    ...(name === undefined || isPlain(name) ? {} : { name: '…' }),
  };
  return { ...issue, where, message: describeIssue(issue) };
}

/** The issue as one sentence, its cure on a line of its own; no text of the input adds a line or a control character. */
export function describeIssue(issue: InputIssue): string {
  const place = formatWhere(issue.where);
  const sentence = visible(`${place === '' ? '' : `${place}: `}received ${issue.received}; expected ${issue.expected}`);
  return issue.hint === undefined ? sentence : `${sentence}\n  hint: ${visible(issue.hint)}`;
}
