// Kept answers: see tests/support/kept.ts.
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { inspect } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { kept } from '../../support/kept.ts';
import { readOf } from '../../support/kept-meter.ts';
import { keptReport } from '../../support/kept-reports.ts';

const FIXTURES = fileURLToPath(new URL('../../../fixtures/meter/', import.meta.url));

interface Fixture {
  readonly file: string;
  readonly options: ParseOptions;
}

const INDEX = JSON.parse(readFileSync(join(FIXTURES, 'index.json'), 'utf8')) as Fixture[];

test.each(INDEX.map((fixture) => [fixture.file, fixture] as const))('%s', async (file, { options }) => {
  const bytes = readFileSync(join(FIXTURES, 'files', file));
  const { report } = await inspect([file], () => bytes, { parse: options, maxGapHours: 6 });
  const { faults, gaps, repairs, months, pictures, issues } = report;
  const read = readOf(parseIntervalData(bytes, options));
  expect(
    kept({ ...read, report: keptReport(report), faults, gaps, repairs, months, pictures, issues }),
  ).toMatchSnapshot();
});
