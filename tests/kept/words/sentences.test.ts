// Kept answers: see tests/support/kept.ts.
import { join } from 'node:path';
import type ts from 'typescript';
import { expect, test } from 'vitest';
import { kept } from '../../support/kept.ts';
import { checker, exportsOf, valuesOf, WORD_FILES, WORDS } from '../../support/typed-values.ts';

type Say = (...args: unknown[]) => unknown;

/** What a function says of its arguments, one of their parts at a time other than the plainest. */
function said(say: Say, signature: ts.Signature | undefined): string[] {
  const each = (signature?.parameters ?? []).map((one) => valuesOf(checker.getTypeOfSymbol(one), one.name, 4));
  const plain = each.map(([first]) => first);
  const all = [plain, ...each.flatMap((values, k) => values.slice(1).map((value) => plain.with(k, value)))];
  return all.map((args) => {
    try {
      return String(JSON.stringify(say(...args)));
    } catch (error) {
      return `none: ${(error as Error).name}`;
    }
  });
}

/** The functions in a value that a file of words exports, by name: a table's entries, and theirs. */
function functionsIn(value: unknown, type: ts.Type, name: string): [name: string, say: Say, type: ts.Type][] {
  if (typeof value === 'function') return [[name, value as Say, type]];
  if (typeof value !== 'object' || value === null || Array.isArray(value)) return [];
  // By name: the order of a table's properties is that in which the checker met their names.
  const properties = checker.getPropertiesOfType(type).toSorted((a, b) => (a.name < b.name ? -1 : 1));
  return properties.flatMap((property) => {
    const inner = (value as Record<string, unknown>)[property.name];
    return functionsIn(inner, checker.getTypeOfSymbol(property), `${name}.${property.name}`);
  });
}

test.each(WORD_FILES)('sentences of words/%s', async (file) => {
  const words = (await import(join(WORDS, file))) as Record<string, unknown>;
  const told = exportsOf(file)
    // What makes a fact of such sentences says nothing itself.
    .filter(({ name }) => name in words && !name.startsWith('fact'))
    .flatMap((one) => functionsIn(words[one.name], checker.getTypeOfSymbol(one), one.name))
    .map(([name, say, type]) => {
      const sentences = said(say, type.getCallSignatures()[0]);
      return `${name}: ${sentences[0]}\n  ${kept({ all: new Set(sentences).size, sentences }).replaceAll('\n', '; ')}`;
    });
  expect(told.join('\n')).toMatchSnapshot();
});
