// Kept answers: see tests/support/kept.ts. Files of sites and tariffs with faults that nobody would think of.
import { expect, test } from 'vitest';
import { answerTo, sites, tariffs } from '../../support/fuzz/documents.ts';
import { inOne, keptOf } from '../../support/kept.ts';

const SEED = 20_261_127;
const EACH = 20;
const groups = (count: number) => Array.from({ length: count }, (_, g) => g + 1);

for (const fuzzer of [sites, tariffs])
  test.each(groups(30))(`${fuzzer.name} spoilt on purpose, %d`, async (group) => {
    const lines: string[] = [];
    for (let k = 0; k < EACH; k++) {
      const input = fuzzer.make(SEED, EACH * (group - 1) + k);
      lines.push(String(await keptOf(() => answerTo(input))));
    }
    expect(inOne(fuzzer.name, lines)).toMatchSnapshot();
  });
