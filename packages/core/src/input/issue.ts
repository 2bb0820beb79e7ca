import type { Where } from '../words/fact.ts';
import { isPlain, pathKey, quoteName, showName, showValue } from '../words/quote.ts';
import { visible } from '../words/visible.ts';

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
  /** Where a finding of a file stops it: what the finding holds (docs/reference/facts.md). */
  readonly data?: Readonly<Record<string, unknown>>;
}

/** Every fault of one input, thrown once. The command line prints all of them and exits with 2. */
export class InputError extends Error {
  readonly issues: readonly InputIssue[];

  /** @param issues at least one; what is none becomes an issue itself, so that no fault is lost */
  constructor(issues: readonly InputIssue[]) {
    const told = areIssues(issues) ? issues : [noIssues(issues)];
    super(told.map(describeIssue).join('\n'));
    this.name = 'InputError';
    this.issues = told;
  }
}

/** Whether a value is a list of issues. */
export function areIssues(value: unknown): value is readonly InputIssue[] {
  if (!Array.isArray(value) || value.length === 0) return false;
  return value.every((issue: Partial<InputIssue> | null | undefined) => {
    const { code, where, received, expected, hint } = issue ?? {};
    const told = typeof code === 'string' && typeof received === 'string' && typeof expected === 'string';
    return told && isWhere(where) && (hint === undefined || typeof hint === 'string');
  });
}

/** Whether a value says where a fault lies. */
export function isWhere(value: unknown): value is Where {
  if (typeof value !== 'object' || value === null || Array.isArray(value) || ArrayBuffer.isView(value)) return false;
  const { file, line, column, sheet, cell, path, name } = value as Where;
  const plain = (part: unknown) => part === undefined || typeof part === 'string' || Number.isFinite(part);
  return [file, line, column, sheet, cell, name].every(plain) && (path === undefined || isPath(path));
}

/** Whether a value is a field's address. */
export function isPath(value: unknown): value is readonly (string | number)[] {
  // A list with holes is none: `every` would pass them over.
  return Array.isArray(value) && Array.from(value).every((part) => typeof part === 'string' || Number.isFinite(part));
}

function noIssues(value: unknown): InputIssue {
  return { code: 'wrong-type', where: { path: ['issues'] }, received: showValue(value), expected: 'a list of issues' };
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
  if (where.sheet !== undefined) parts.push(placeInSheet(file, where.sheet, where));
  else if (file !== undefined) parts.push(where.line === undefined ? file : `${file} line ${where.line}`);
  else if (where.line !== undefined) parts.push(`line ${where.line}`);
  if (where.column !== undefined)
    parts.push(
      String(where.column).startsWith('--') ? String(where.column) : `column ${quoteName(String(where.column))}`,
    );
  if (where.path !== undefined && where.path.length > 0) {
    const name = where.name === undefined ? '' : ` of ${showValue(where.name)}`;
    parts.push(`field "${formatPath(where.path)}"${name}`);
  }
  return parts.join(', ');
}

function placeInSheet(file: string | undefined, sheet: string, { cell, line }: Where): string {
  const place = cell !== undefined ? ` cell ${visible(cell)}` : line !== undefined ? ` row ${line}` : '';
  return `${file === undefined ? '' : `${file} `}sheet ${quoteName(sheet)}${place}`;
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
