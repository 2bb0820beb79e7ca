import { loadSite } from '@duskbank/core/site';
import { expect, test } from 'vitest';

test.each([
  ['https://host/home/site.json', 'tariff.json', 'https://host/home/tariff.json'],
  ['https://host/site.json', '../t/tariff.json', 'https://host/t/tariff.json'],
  ['https://host/home/site.json', 'https://other/tariff.json', 'https://other/tariff.json'],
])('a site at an address names its files beside it: %s and %s', async (path, tariff, expected) => {
  const asked: string[] = [];
  const document = { format: 'duskbank.site/1', name: 'A', zone: 'UTC', meter: { files: ['home.csv'] }, tariff };
  const read = (name: string) => {
    asked.push(name);
    if (name !== path) throw Object.assign(new Error('none'), { code: 'ENOENT' });
    return new TextEncoder().encode(JSON.stringify(document));
  };
  await expect(loadSite(path, read)).rejects.toThrow();
  expect(asked).toContain(expected);
});
