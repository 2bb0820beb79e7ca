import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { siteSchema } from '@duskbank/core/site';
import { tariffSchema } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import * as z from 'zod';
import { ROOT, withMarked } from './documents.ts';
import { fieldTables, type JsonSchema, undescribed } from './field-tables.ts';

// Where one of these fails because a schema changed: `npx --yes pnpm@12.4.2 run docs` writes the pages anew.
const FORMATS: [kind: string, schema: JsonSchema][] = [
  ['site', z.toJSONSchema(siteSchema, { io: 'input' }) as JsonSchema],
  ['tariff', z.toJSONSchema(tariffSchema, { io: 'input' }) as JsonSchema],
];

test.each(FORMATS)('docs/reference/%s.schema.json is the schema that the program checks by', async (kind, schema) => {
  const path = join(ROOT, `docs/reference/${kind}.schema.json`);
  await expect(`${JSON.stringify(schema, null, 2)}\n`).toMatchFileSnapshot(path);
});

test.each(FORMATS)('docs/reference/%s-file.md lists every field of the schema', async (kind, schema) => {
  const path = join(ROOT, `docs/reference/${kind}-file.md`);
  await expect(withMarked(readFileSync(path, 'utf8'), 'fields', fieldTables(schema))).toMatchFileSnapshot(path);
});

test.each(FORMATS)('every field of the %s file says what it means', (_kind, schema) => {
  expect(undescribed(schema)).toEqual([]);
});
