// Kept answers: see tests/support/kept.ts.
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { CHANNELS, channelField, type IntervalData, type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { inspect } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { kept, keptEach, keptOf } from '../../support/kept.ts';
import { keptReport } from '../../support/kept-reports.ts';
import { seedsFrom } from '../../support/kept-sites.ts';
import { loadCorpus, mutated } from '../../support/mutate-meter.mjs';
import { generateHome, tellings } from '../../support/panel/index.ts';
import { oddFile, type PortalFile, portalFile, unlabelledFile } from '../../support/portal-files.ts';

const FIXTURES = fileURLToPath(new URL('../../../fixtures/meter/', import.meta.url));

interface Fixture {
  readonly file: string;
  readonly options: ParseOptions;
}

const CORPUS = loadCorpus();
const INDEX = JSON.parse(readFileSync(join(FIXTURES, 'index.json'), 'utf8')) as Fixture[];

/** What was read of a file: its channels, their series, and every finding with what it is told by. */
function readOf({ series, findings, layout }: IntervalData) {
  return {
    series: series === undefined ? 'none' : { ...series, axis: { ...series.axis, calendar: undefined } },
    channels: series === undefined ? [] : CHANNELS.filter((channel) => series[channelField(channel)] !== undefined),
    codes: findings.map(({ code, severity }) => `${severity} ${code}`).join(', '),
    findings,
    layout,
  };
}

test.each(INDEX.map((fixture) => [fixture.file, fixture] as const))('%s', async (file, { options }) => {
  const bytes = readFileSync(join(FIXTURES, 'files', file));
  const { report } = await inspect([file], () => bytes, { parse: options, maxGapHours: 6 });
  const { faults, gaps, repairs, months, pictures, issues } = report;
  const read = readOf(parseIntervalData(bytes, options));
  expect(
    kept({ ...read, report: keptReport(report), faults, gaps, repairs, months, pictures, issues }),
  ).toMatchSnapshot();
});

const PORTALS: readonly (readonly [string, (seed: number) => PortalFile, number])[] = [
  ['portal file', portalFile, 60],
  ['odd file', oddFile, 24],
  ['unlabelled file', unlabelledFile, 16],
];

test.each(PORTALS.flatMap(([name, make, count]) => seedsFrom(5000, count).map((seed) => [name, seed, make] as const)))(
  '%s %d',
  async (_name, seed, make) => {
    const { text, zone } = make(seed);
    expect(await keptOf(() => readOf(parseIntervalData(text, { zone })))).toMatchSnapshot();
  },
);

test.each(seedsFrom(1, 160))('spoilt file %d', async (seed) => {
  const { bytes, options } = mutated(CORPUS, 7, seed);
  expect(await keptOf(() => readOf(parseIntervalData(bytes, options)))).toMatchSnapshot();
});

test.each(seedsFrom(0, 10))('home %d as portals would tell it', async (seed) => {
  const home = generateHome(seed, { days: 6 });
  const calls: Record<string, () => unknown> = {};
  for (const { name, meter, files } of tellings(home)) {
    const [first] = meter.files as { path?: string }[];
    const { path: _path, ...stated } = typeof first === 'string' ? {} : first!;
    const text = Object.values(files)[0]!;
    calls[name] = () => readOf(parseIntervalData(text, { zone: home.zone, ...stated }));
  }
  expect(await keptEach(calls)).toMatchSnapshot();
});
