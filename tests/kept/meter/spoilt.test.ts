// Kept answers: see tests/support/kept.ts.
import { parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { keptOf } from '../../support/kept.ts';
import { readOf } from '../../support/kept-meter.ts';
import { loadCorpus, mutated } from '../../support/mutate-meter.mjs';

const CORPUS = loadCorpus();

// File by file, so that a further fixture only adds cases.
test.each(CORPUS.flatMap((file) => [1, 2].map((turn) => [file.file, turn, file] as const)))(
  '%s, spoilt in way %d',
  async (_name, turn, file) => {
    const { bytes, options } = mutated([file], 7, turn);
    expect(await keptOf(() => readOf(parseIntervalData(bytes, options)))).toMatchSnapshot();
  },
);
