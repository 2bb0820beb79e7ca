// Kept answers: see tests/support/kept.ts.
import { parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { keptOf } from '../../support/kept.ts';
import { readOf } from '../../support/kept-meter.ts';
import { seedsFrom } from '../../support/kept-sites.ts';
import { loadCorpus, mutated } from '../../support/mutate-meter.mjs';

const CORPUS = loadCorpus();

test.each(seedsFrom(1, 160))('spoilt file %d', async (seed) => {
  const { bytes, options } = mutated(CORPUS, 7, seed);
  expect(await keptOf(() => readOf(parseIntervalData(bytes, options)))).toMatchSnapshot();
});
