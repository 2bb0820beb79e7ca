import type { InputIssue } from './issue.ts';

/** Objects and lists within one another: a file of ours needs eight. Deeper ones would exhaust a parser. */
export const MAX_DEPTH = 64;

/** The fault of a document whose nesting no file format has. */
export function tooDeep(file: string | undefined, at: { line?: number; path?: (string | number)[] } = {}): InputIssue {
  return {
    code: 'too-deep',
    where: { ...(file === undefined ? {} : { file }), ...at },
    received: `objects or lists more than ${MAX_DEPTH} deep`,
    expected: 'at most eight levels, as the file format has',
    hint: 'look for brackets that are never closed, and for indents; "duskbank schema site" prints the format',
  };
}
