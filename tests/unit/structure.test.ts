import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it, test } from 'vitest';
import { CORE, importsOf, nameOf, sourcesIn } from '../support/imports.ts';
import { ROOT, withMarked } from './docs/documents.ts';

/** The folder of core that a file stands in; a file at the root of core is its own. */
const folderOf = (file: string) => nameOf(file).split('/')[0]!;

/** Which folders of core each folder imports, types included. */
function arrows(): Map<string, Set<string>> {
  const found = new Map<string, Set<string>>();
  for (const file of sourcesIn()) {
    const from = folderOf(file);
    if (from.endsWith('.ts')) continue;
    const to = found.get(from) ?? new Set<string>();
    found.set(from, to);
    for (const target of importsOf(file, true)) {
      if (!target.startsWith(CORE)) continue;
      const folder = folderOf(target);
      if (folder !== from && !folder.endsWith('.ts')) to.add(folder);
    }
  }
  return found;
}

/** Folders in levels: each stands above all that it imports. Undefined where some import each other in a circle. */
function levelsOf(edges: Map<string, Set<string>>): string[][] | undefined {
  const placed = new Set<string>();
  const levels: string[][] = [];
  while (placed.size < edges.size) {
    const next = [...edges].filter(([folder, to]) => !placed.has(folder) && [...to].every((each) => placed.has(each)));
    if (next.length === 0) return undefined;
    const level = next.map(([folder]) => folder).sort();
    levels.push(level);
    for (const folder of level) placed.add(folder);
  }
  return levels;
}

/** What a reader needs: an arrow that follows from others is left out. */
function withoutDetours(edges: Map<string, Set<string>>): Map<string, string[]> {
  const reach = (from: string): Set<string> => {
    const seen = new Set<string>();
    for (const queue = [...edges.get(from)!]; queue.length > 0; ) {
      const folder = queue.pop()!;
      if (seen.has(folder)) continue;
      seen.add(folder);
      queue.push(...edges.get(folder)!);
    }
    return seen;
  };
  return new Map(
    [...edges].map(([from, to]) => [
      from,
      [...to].filter((each) => ![...to].some((other) => other !== each && reach(other).has(each))).sort(),
    ]),
  );
}

it('the picture of the folders in DEVELOPERS.md is what the sources import, and has no circle', async () => {
  const edges = arrows();
  const levels = levelsOf(edges);
  expect(levels).toBeDefined();
  const direct = withoutDetours(edges);
  const lines = [...levels!].reverse().flatMap((level) => {
    const width = Math.max(...[...edges.keys()].map((folder) => folder.length));
    return level.map((folder) =>
      `    ${folder.padEnd(width)}  ${direct.get(folder)!.length > 0 ? '→ ' : ''}${direct.get(folder)!.join(', ')}`.trimEnd(),
    );
  });
  const path = join(ROOT, 'DEVELOPERS.md');
  await expect(withMarked(readFileSync(path, 'utf8'), 'folders', lines.join('\n'))).toMatchFileSnapshot(path);
});

test('no file of core is over 400 lines without a reason in docs/decisions/long-files.md', () => {
  const reasons = readFileSync(join(ROOT, 'docs/decisions/long-files.md'), 'utf8');
  const long = sourcesIn().filter((file) => readFileSync(file, 'utf8').split('\n').length > 401);
  expect(long.map(nameOf).filter((name) => !reasons.includes(`\`${name}\``))).toEqual([]);
  // A reason whose file has become short is taken away.
  const named = [...reasons.matchAll(/`([\w/-]+\.ts)`/g)].map(([, name]) => name!);
  expect(named.filter((name) => !long.map(nameOf).includes(name))).toEqual([]);
});

test('core keeps no state of its own between calls: nothing at the top of a file changes', () => {
  // A top-level `let` is state; so is a map that is empty at first. What is made once and never changes is a constant.
  const state = /^(?:export )?(?:let |const \w+(?:: [^=]+)? = new (?:Weak)?(?:Map|Set)(?:<[^;]*>)?\(\))/m;
  const found = sourcesIn().filter((file) => state.test(readFileSync(file, 'utf8')));
  // The door marks what makers made, by identity: docs/decisions/door.md says why. No result depends on it.
  expect(found.map(nameOf)).toEqual(['input/door.ts']);
});
