import { parseSite } from '@duskbank/core/site';
import { parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { parse } from 'yaml';
import { blocksOf, documents } from './documents.ts';

const samples = documents().flatMap(({ path, text }) =>
  blocksOf(text)
    .filter(
      (block) => /^(yaml|json)$/.test(block.language) && /^\W*format\W+duskbank\.(site|tariff)\//m.test(block.body),
    )
    .map((block) => [path, block.first + 1, block.body] as const),
);

test.each(samples)('the whole file shown in %s, line %i, is one that the program takes', (_path, _line, body) => {
  const document = parse(body);
  const read = document.format.startsWith('duskbank.site/') ? parseSite : parseTariff;
  expect(read(document).name).toBe(document.name);
});

test('there are samples to check', () => {
  expect(samples.length).toBeGreaterThan(1);
});
