// Kept answers: see tests/support/kept.ts.
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { adjustSeries, type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { keptOf } from '../../support/kept.ts';
import { readOf } from '../../support/kept-meter.ts';

const FIXTURES = fileURLToPath(new URL('../../../fixtures/meter/', import.meta.url));
const INDEX = JSON.parse(readFileSync(join(FIXTURES, 'index.json'), 'utf8')) as {
  file: string;
  options: ParseOptions;
}[];

/** What somebody may state of a file beside what its fixture states. */
const STATED: readonly ParseOptions[] = [
  { repeats: 'first' },
  { repeats: 'last' },
  { repeats: 'add' },
  { sign: 'export-positive' },
  { unit: 'Wh' },
  { unit: 'kW', intervalEnd: true },
  { channel: 'import' },
  { channel: 'net' },
  { clock: 'standard' },
  { clock: 'utc', decimal: '.' },
  { decimal: ',', dateOrder: 'day-first' },
  { dateOrder: 'month-first', usagePoint: 1 },
];

test.each(INDEX.map(({ file, options }, k) => [file, { ...options, ...STATED[k % STATED.length]! }] as const))(
  '%s with more stated',
  async (file, options) => {
    const bytes = readFileSync(join(FIXTURES, 'files', file));
    expect(await keptOf(() => readOf(parseIntervalData(bytes, options)))).toMatchSnapshot();
  },
);

test.each(INDEX.filter((_, k) => k % 6 === 0).map(({ file, options }) => [file, options] as const))(
  '%s put right',
  async (file, options) => {
    const { series } = parseIntervalData(readFileSync(join(FIXTURES, 'files', file)), options);
    const right = (how: Parameters<typeof adjustSeries>[1]) => () => {
      const { axis, ...values } = adjustSeries(series!, how);
      return { startEpochMs: axis.startEpochMs, ...values };
    };
    for (const how of [{ flipGrid: true }, { swapSolarAndGrid: true }, { solarInLoad: true }, { scale: { export: 2 } }])
      if (series !== undefined) expect(await keptOf(right(how))).toMatchSnapshot(Object.keys(how)[0]!);
  },
);
