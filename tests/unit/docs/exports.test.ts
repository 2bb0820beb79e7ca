import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { ROOT, withMarked } from './documents.ts';
import { exportsOfCore } from './export-tables.ts';
import { markdownTable } from './field-tables.ts';

const folders = exportsOfCore();

test('every name that core exports has a comment that says what it is', () => {
  const bare = folders.flatMap(({ folder, names }) =>
    names.filter(({ meaning }) => meaning === '').map(({ name }) => `${folder}: ${name}`),
  );
  expect(bare).toEqual([]);
});

test('docs/reference/exports.md lists every name that core exports', async () => {
  expect(folders.length).toBeGreaterThan(8);
  const text = folders
    .map(({ folder, names }) => {
      const rows = names.map(({ name, kind, meaning }) => [`\`${name}\``, kind, meaning]);
      return [`## @duskbank/core/${folder}`, '', markdownTable(['Name', 'Kind', 'What it is'], rows)].join('\n');
    })
    .join('\n\n');
  const path = join(ROOT, 'docs/reference/exports.md');
  await expect(withMarked(readFileSync(path, 'utf8'), 'exports', text)).toMatchFileSnapshot(path);
});
