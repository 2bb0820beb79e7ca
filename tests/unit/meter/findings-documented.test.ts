// docs/reference/interval-files.md lists every finding that reading can give, and no other.
import { readdirSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { METER_WORDS } from '../../../packages/core/src/words/meter.ts';

const root = new URL('../../../', import.meta.url);

test('every finding code of the source stands in the reference, and the other way round', () => {
  const folder = new URL('packages/core/src/meter/', root);
  const codes = new Set<string>(Object.keys(METER_WORDS));
  for (const file of readdirSync(folder, { recursive: true, encoding: 'utf8' })) {
    if (!file.endsWith('.ts')) continue;
    const source = readFileSync(new URL(file, folder), 'utf8');
    for (const [, code] of source.matchAll(/(?:\.add|pend|skip)\(\s*'([a-z0-9-]+)'/g)) codes.add(code!);
  }
  const reference = readFileSync(new URL('docs/reference/interval-files.md', root), 'utf8');
  const table = reference.slice(reference.indexOf('<!-- findings -->'));
  const listed = [...table.matchAll(/^\| `([a-z0-9-]+)` *\|/gm)].map((match) => match[1]!);
  expect(listed).toEqual([...new Set(listed)].sort());
  expect(listed).toEqual([...codes].sort());
});
