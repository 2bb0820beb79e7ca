import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { nameOf, sourcesIn } from '../../support/imports.ts';
import { ROOT, withMarked } from './documents.ts';
import { factTopics } from './fact-tables.ts';
import { markdownTable } from './field-tables.ts';

test('docs/reference/facts.md lists every code that core can tell, with what its data hold', async () => {
  const topics = factTopics();
  const codes = topics.flatMap((topic) => topic.codes.map(({ code }) => code));
  expect(codes.length).toBeGreaterThan(100);
  const text = topics
    .map(({ topic, codes }) => {
      const rows = [...codes]
        .sort((a, b) => (a.code < b.code ? -1 : 1))
        .map(({ code, meaning, fields }) => [`\`${code}\``, meaning, fields.map((field) => `\`${field}\``).join(', ')]);
      return [`### ${topic.split(/[.:,]/, 1)[0]}`, '', markdownTable(['Code', 'Told when', 'Data'], rows)].join('\n');
    })
    .join('\n\n');
  const path = join(ROOT, 'docs/reference/facts.md');
  await expect(withMarked(readFileSync(path, 'utf8'), 'facts', text)).toMatchFileSnapshot(path);
});

test('every code of the words is told somewhere', () => {
  const sources = sourcesIn()
    .filter((file) => !nameOf(file).startsWith('words/'))
    .map((file) => readFileSync(file, 'utf8'))
    .join('\n');
  const codes = factTopics().flatMap((topic) => topic.codes.map(({ code }) => code));
  expect(codes.filter((code) => !sources.includes(`'${code}'`) && !sources.includes(`\n  ${code}: `))).toEqual([]);
});
