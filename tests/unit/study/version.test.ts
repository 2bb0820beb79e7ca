import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { VERSION } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { ROOT } from '../docs/documents.ts';

test.each(['packages/core/package.json', 'packages/cli/package.json'])(
  'the version in the code is that of %s',
  (file) => {
    expect(VERSION).toBe(JSON.parse(readFileSync(join(ROOT, file), 'utf8')).version);
  },
);

test('no other source file states a version', () => {
  const main = readFileSync(join(ROOT, 'packages/cli/src/main.ts'), 'utf8');
  expect(main).not.toMatch(/\d+\.\d+\.\d+/);
});
