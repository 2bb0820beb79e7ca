import { readInput } from './read.ts';

/** What a file of the user's seems to be. */
export type FileKind = 'site' | 'tariff' | 'intervals' | 'document';

/**
 * Tells the kind of a file by its content: the `format` that it states, else whether it is an object at all.
 * `document` is an object in JSON or YAML without a format of ours.
 */
export function kindOf(path: string, maxBytes: number): FileKind {
  const head = Buffer.from(readInput(path, maxBytes).subarray(0, 65_536)).toString('utf8');
  const stated = /["']?format["']?\s*:\s*["']?duskbank\.(site|tariff)\//.exec(head);
  if (stated !== null) return stated[1] as 'site' | 'tariff';
  if (/\.(json|ya?ml)$/i.test(path)) return 'document';
  return 'intervals';
}
