// Kept answers: see tests/support/kept.ts.
import { parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { archives, readArchive } from '../../support/fuzz/archives.ts';
import { inOne, keptOf } from '../../support/kept.ts';
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

test.each(CORPUS.map((file) => [file.file, file] as const))('%s, spoilt in ways 3 to 10', async (name, file) => {
  const lines: string[] = [];
  for (let turn = 3; turn <= 10; turn++) {
    const { bytes, options } = mutated([file], 7, turn);
    lines.push(String(await keptOf(() => readOf(parseIntervalData(bytes, options)))));
  }
  expect(inOne(name, lines)).toMatchSnapshot();
});

test.each(Array.from({ length: 10 }, (_, g) => g + 1))('archives spoilt on purpose, %d', async (group) => {
  const lines: string[] = [];
  for (let k = 0; k < 30; k++) {
    const input = archives.make(20_261_127, 30 * (group - 1) + k);
    lines.push(String(await keptOf(async () => readOf(await readArchive(input)))));
  }
  expect(inOne('archives', lines)).toMatchSnapshot();
});
