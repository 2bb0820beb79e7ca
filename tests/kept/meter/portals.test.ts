// Kept answers: see tests/support/kept.ts.
import { parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { inOne, keptEach, keptOf } from '../../support/kept.ts';
import { readOf } from '../../support/kept-meter.ts';
import { seedsFrom } from '../../support/kept-sites.ts';
import { inALine } from '../../support/ladders.ts';
import { generateHome, tellings } from '../../support/panel/index.ts';
import { blockFile, oddFile, type PortalFile, portalFile, unlabelledFile } from '../../support/portal-files.ts';

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

/** Further ones, many in a line: what few of them have in common. */
const MORE: readonly (readonly [string, (seed: number) => PortalFile, number])[] = [
  ['odd file', oddFile, 80],
  ['unlabelled file', unlabelledFile, 30],
  ['file of blocks', blockFile, 80],
];
const IN_ONE = 10;

test.each(
  MORE.flatMap(([name, make, count]) =>
    seedsFrom(0, count / IN_ONE).map((group) => [name, 6000 + group * IN_ONE, make] as const),
  ),
)('%s %d and those after it', (name, first, make) => {
  const lines = seedsFrom(first, IN_ONE).map((seed) => {
    const { text, zone } = make(seed);
    return inALine(text, { zone });
  });
  expect(inOne(name, lines)).toMatchSnapshot();
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
