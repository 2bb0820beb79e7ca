// Kept answers: see tests/support/kept.ts.
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { type CheckOptions, check } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { yaml } from '../../../packages/cli/src/io/yaml.ts';
import { keptOf } from '../../support/kept.ts';
import { keptReport } from '../../support/kept-reports.ts';
import { keptSite, seedsFrom } from '../../support/kept-sites.ts';
import { tariffFixtures } from '../../support/tariff-fixtures.ts';

/** What a file among these is understood to say. */
const understood = (path: string, files: (path: string) => Uint8Array, options: CheckOptions = {}) =>
  keptOf(async () => {
    const { report, issues } = await check(path, files, { yaml, ...options });
    return { report: keptReport(report), issues };
  }, 3);

const bytesOf = (text: string) => new TextEncoder().encode(text);
const oneFile = (text: string) => () => bytesOf(text);

test.each(seedsFrom(400, 20))('site %d', async (seed) => {
  const site = keptSite(seed);
  expect(await understood(site.path, (path) => site.read(path) as Uint8Array)).toMatchSnapshot();
});

test.each(tariffFixtures().map(({ name }) => [name] as const))('tariff %s', async (name) => {
  const url = new URL(`../../../fixtures/tariffs/${name}.json`, import.meta.url);
  expect(await understood('tariff.json', oneFile(readFileSync(fileURLToPath(url), 'utf8')))).toMatchSnapshot();
});

const hours = Array.from({ length: 72 }, (_, h) => new Date(Date.UTC(2026, 4, 4, h)).toISOString().slice(0, 16));
const rows = (header: string, of: (h: number) => string) =>
  `${header}\n${hours.map((at, h) => `${at.replace('T', ' ')},${of(h)}`).join('\n')}\n`;

const UTC = { zone: 'Etc/UTC' };
const FILES: readonly (readonly [file: string, text: string, options?: CheckOptions])[] = [
  ['kwh.csv', rows('time,import kWh', (h) => String(0.3 + (h % 24) / 40))],
  ['in-zone.csv', rows('time,import kWh', (h) => String(0.3 + (h % 24) / 40)), { zone: 'Europe/Berlin' }],
  ['gaps.csv', rows('time,import kWh,export kWh', (h) => (h % 20 === 7 ? ',' : `${h / 100},${(h % 5) / 10}`)), UTC],
  ['plain.csv', rows('time,value', (h) => String(300 + h)), UTC],
  ['plain-wh.csv', rows('time,value', (h) => String(300 + h)), { ...UTC, unit: 'Wh' }],
  ['slip.csv', rows('time,value', (h) => String(300 + h)), { unit: 'kwhh' }],
  ['no-unit.csv', rows('time,value', (h) => String(300 + h)), { unit: 'apples' }],
  ['prices.csv', rows('start,price EUR/MWh', (h) => String(80 + h)), { zone: 'Europe/Berlin' }],
  ['unit-first.csv', rows('unit,start,price', (h) => String(h)).replace(/^2026/gm, 'EUR/MWh,2026'), UTC],
  ['unit-once.csv', rows('start,unit,price', (h) => `${h === 0 ? 'EUR/MWh' : ''},${80 + h}`), UTC],
  ['prices-nowhere.csv', rows('start,price EUR/MWh', (h) => String(80 + h))],
  ['words.csv', 'one,two\nthree,four\n'],
  ['nothing.csv', ''],
  ['plain.json', '{"name": "Mill Row"}'],
  ['broken.json', '{"format": "duskbank.site/1", '],
  ['of-another-version.json', '{"format": "duskbank.site/9", "name": "Mill Row", "tariff": "none.json"}'],
  ['of-this-version.json', '{"format": "duskbank.site/1", "name": "Mill Row", "tariff": "none.json"}'],
  ['site.yaml', '# a site\nformat: duskbank.site/1\nname: Mill Row\n'],
  [
    'tariff.yaml',
    'format: duskbank.tariff/1\nname: Plain\ncurrency: USD\nenergy:\n  - { name: Energy, pricePerKwh: 0.2 }\n',
  ],
];

test.each(FILES.map(([file, text, options]) => [file, text, options] as const))(
  'file %s',
  async (file, text, options) => {
    expect(await understood(file, oneFile(text), options)).toMatchSnapshot();
  },
);
