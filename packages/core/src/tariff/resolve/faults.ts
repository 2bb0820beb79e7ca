import type { InputIssue } from '../../input/issue.ts';
import { nearestName } from '../../input/suggest.ts';
import { quoteName, showValue } from '../../words/quote.ts';

export type Path = readonly (string | number)[];

/** Collects the faults of one file, in the order in which its elements are read. */
export class Faults {
  readonly issues: InputIssue[] = [];
  constructor(readonly file: string | undefined) {}

  /** A value that is wrong, or that is missing (undefined). */
  add(code: string, path: Path, received: unknown, expected: string, hint?: string): void {
    this.addWords(code, path, showValue(received), expected, hint);
  }

  /** Something wrong that is no single value: what was found, in words. */
  addWords(code: string, path: Path, found: string, expected: string, hint?: string): void {
    this.issues.push({
      code,
      where: { file: this.file, path },
      received: found,
      expected,
      ...(hint === undefined ? {} : { hint }),
    });
  }

  /** A name that should be in a list. */
  unknownName(code: string, path: Path, name: string, known: readonly string[], what: string): void {
    const near = nearestName(name, known);
    this.add(
      code,
      path,
      name,
      known.length === 0
        ? `no name: the tariff has no ${what}`
        : `a ${what}: ${known.map((k) => quoteName(k)).join(', ')}`,
      near === undefined ? undefined : `did you mean "${near}"?`,
    );
  }

  /** A fault unless just one of three fields is given; the first is the usual one. */
  exactlyOne<Key extends string>(
    document: { readonly [K in Key]?: unknown },
    keys: readonly [Key, Key, Key],
    path: Path,
  ): void {
    const given = keys.filter((key) => document[key] !== undefined);
    if (given.length === 1) return;
    const [first, second, third] = keys;
    this.add(
      given.length === 0 ? 'missing' : 'not-together',
      [...path, given[1] ?? first],
      given[1] === undefined ? undefined : document[given[1]],
      `one of "${first}", "${second}" and "${third}"`,
      given.length === 0 ? `add "${first}"` : 'keep one',
    );
  }

  /** Names that stand twice in a list; `keys` says which entries may not be the same. */
  repeatedNames(keys: readonly string[], names: readonly string[], path: Path): void {
    for (const [k, key] of keys.entries())
      if (keys.indexOf(key) < k)
        this.addWords(
          'duplicate-name',
          [...path, k, 'name'],
          quoteName(names[k]!),
          'a name that no other charge of the list bears',
          'call it something else, or give the two different seasons',
        );
  }
}
