import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { ROOT, withMarked } from './documents.ts';
import { markdownTable } from './field-tables.ts';

/** Each limit, its constant, and how it is told. */
const LIMITS: readonly (readonly [what: string, file: string, constant: string, told: (value: number) => string])[] = [
  ['A site, tariff or settings file', 'core/src/site/read-faults.ts', 'MAX_DOCUMENT_BYTES', megabytes],
  ['Depth of fields in one', 'core/src/input/depth.ts', 'MAX_DEPTH', plain],
  ['Names (aliases) that a YAML file may resolve', 'cli/src/io/yaml.ts', 'MAX_ALIASES', plain],
  ['A meter, price or bill file, unpacked', 'core/src/meter/options.ts', 'MAX_BYTES', megabytes],
  [
    'What one byte of an archive may become',
    'core/src/meter/archive/unpacked.ts',
    'MOST_EXPANSION',
    (times) => `${times} bytes`,
  ],
  ['Members of a zip', 'core/src/meter/archive/zip.ts', 'MOST_MEMBERS', plain],
  ['Members of a gzip', 'core/src/meter/archive/gzip.ts', 'MOST_MEMBERS', plain],
  ['One line of a table', 'core/src/meter/table/table.ts', 'MAX_LINE', (signs) => `${plain(signs)} characters`],
  [
    'A cell of a table; what is longer is no number and no time',
    'core/src/meter/table/table.ts',
    'LONGEST_CELL',
    (signs) => `${signs} characters`,
  ],
  ['Cells of a spreadsheet, blank ones counted', 'core/src/meter/spreadsheet.ts', 'MOST_CELLS', plain],
  ['Rows of a sheet, with or without an address', 'core/src/meter/spreadsheet.ts', 'MOST_ROWS', plain],
  ['Depth of elements in a feed (ESPI)', 'core/src/meter/espi/feed.ts', 'MOST_DEPTH', plain],
  ['Steps of a home, 11 years of minutes', 'core/src/axis/steps.ts', 'MAX_INTERVALS', plain],
  ['Energy of one step', 'core/src/tariff/flows.ts', 'MOST_KWH', (kwh) => `${plain(kwh)} kWh`],
  [
    'Gap that is filled from like days',
    'core/src/meter/repair.ts',
    'LONGEST_GAP_HOURS',
    (hours) => `${hours / 24} days`,
  ],
  ['Hours of backup that are counted', 'core/src/outage/hours.ts', 'CAP_HOURS', (hours) => `${hours / 24} days`],
  ['Text of a file that a message quotes', 'core/src/words/quote.ts', 'MOST_QUOTED', (signs) => `${signs} characters`],
  ['Faults that a refusal prints', 'cli/src/io/fail.ts', 'MOST_SHOWN', plain],
];

function plain(value: number): string {
  return value.toLocaleString('en-US');
}

function megabytes(value: number): string {
  return `${value / 1024 / 1024} MiB`;
}

/** The value of a constant that is a product of whole numbers, as the source has it. */
function limitOf(file: string, constant: string): number {
  const source = readFileSync(join(ROOT, 'packages', file), 'utf8');
  const product = new RegExp(`const ${constant} = ([\\d_e* ]+);`).exec(source)?.[1];
  if (product === undefined) throw new Error(`${file} has no ${constant} that is a number`);
  return product.split('*').reduce((value, factor) => value * Number(factor.replaceAll('_', '')), 1);
}

test('docs/concepts/limits.md has the limits of the code', async () => {
  const rows = LIMITS.map(([what, file, constant, told]) => [what, told(limitOf(file, constant))]);
  const path = join(ROOT, 'docs/concepts/limits.md');
  const text = withMarked(readFileSync(path, 'utf8'), 'limits', markdownTable(['What', 'At most'], rows));
  await expect(text).toMatchFileSnapshot(path);
});
