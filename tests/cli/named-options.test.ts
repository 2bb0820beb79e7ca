import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { duskbank, folderWith, ROOT } from './support.ts';

/** Options that a cure names, by the command that is said to take them. */
function namedOptions(): Map<string, Set<string>> {
  const named = new Map<string, Set<string>>();
  const folder = join(ROOT, 'packages/core/src');
  for (const path of readdirSync(folder, { recursive: true, encoding: 'utf8' })) {
    if (!path.endsWith('.ts')) continue;
    const text = readFileSync(join(folder, path), 'utf8');
    // "duskbank check" and "duskbank inspect" take --unit; "duskbank bill --actual"; "inspect": --zone.
    for (const [, one, other, options] of text.matchAll(
      /"(?:duskbank )?([a-z]+)"(?: and "(?:duskbank )?([a-z]+)")?(?: takes? |: )(--[a-z][^;'"`]*)/g,
    ))
      for (const command of [one!, other].filter((name) => name !== undefined))
        for (const [option] of options!.matchAll(/--[a-z-]+/g))
          named.set(command, (named.get(command) ?? new Set()).add(option));
    for (const [, command, option] of text.matchAll(/"duskbank ([a-z]+) (--[a-z-]+)/g))
      named.set(command!, (named.get(command!) ?? new Set()).add(option!));
  }
  return named;
}

test('every option that a cure names is one of the command that it names', () => {
  const named = namedOptions();
  expect([...named.keys()].sort()).toEqual(['bill', 'check', 'inspect']);
  expect(named.get('inspect')!.size).toBeGreaterThan(10);
  const folder = folderWith();
  for (const [command, options] of named) {
    const help = duskbank([command, '--help'], folder).stdout;
    for (const option of options) expect(help, `${command} ${option}`).toMatch(new RegExp(`^ +${option}\\b`, 'm'));
  }
});
