import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { siteSchema } from '@duskbank/core/site';
import { reportSchemas, sheetFileSchema } from '@duskbank/core/study';
import { tariffSchema } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import * as z from 'zod';
import { ROOT, withMarked } from './documents.ts';
import { fieldTables, type JsonSchema, undescribed } from './field-tables.ts';

// Where one of these fails because a schema changed: `npx --yes pnpm@12.4.2 run docs` writes the pages anew.
const FORMATS: [kind: string, page: string, schema: JsonSchema][] = [
  ['site', 'site-file', z.toJSONSchema(siteSchema, { io: 'input' }) as JsonSchema],
  ['tariff', 'tariff-file', z.toJSONSchema(tariffSchema, { io: 'input' }) as JsonSchema],
  ['sheet', 'sheet-file', z.toJSONSchema(sheetFileSchema, { io: 'input' }) as JsonSchema],
  ...Object.entries(reportSchemas).map(([kind, schema]): [string, string, JsonSchema] => [
    kind,
    `${kind}-result`,
    z.toJSONSchema(schema, { io: 'output' }) as JsonSchema,
  ]),
];

test.each(FORMATS)('docs/reference/%s.schema.json is the schema of the code', async (kind, _page, schema) => {
  const path = join(ROOT, `docs/reference/${kind}.schema.json`);
  await expect(`${JSON.stringify(schema, null, 2)}\n`).toMatchFileSnapshot(path);
});

test.each(FORMATS)('the %s schema: docs/reference/%s.md lists every field of it', async (_kind, page, schema) => {
  const path = join(ROOT, `docs/reference/${page}.md`);
  const tables = fieldTables(schema, page.endsWith('-result') ? 'result' : 'file');
  await expect(withMarked(readFileSync(path, 'utf8'), 'fields', tables)).toMatchFileSnapshot(path);
});

test.each(FORMATS)('the %s schema says of every field what it means', (_kind, _page, schema) => {
  expect(undescribed(schema)).toEqual([]);
});
