// Small files in which one part says something else, and what is kept of each.
import { type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { inOne, kept } from './kept.ts';
import { readOf } from './kept-meter.ts';

/** What is read of a file: what was found, and a digest of all facts and values. */
export function toldOf(file: string | Uint8Array, options: ParseOptions): string {
  const read = readOf(parseIntervalData(file, options));
  return `${read.codes} ${kept(read)}`;
}

/** What is read with each of several texts in place of a part of a file, in a line. */
export const altered = (
  name: string,
  [before, after]: readonly [string, string],
  texts: readonly string[],
  options: ParseOptions,
): string =>
  inOne(
    name,
    texts.map((text) => toldOf(`${before}${text}${after}`, options)),
  );
