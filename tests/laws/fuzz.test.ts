// A short seeded run of what tests/nightly/fuzz.nightly.ts does at length.
import { expect, test } from 'vitest';
import { archives } from '../support/fuzz/archives.ts';
import { documents } from '../support/fuzz/documents.ts';
import { fuzz } from '../support/fuzz/fuzzer.ts';
import { meterFiles } from '../support/fuzz/meter.ts';

test.each([documents, archives, meterFiles])(
  '$name damaged on purpose are refused, or answered with numbers',
  async (fuzzer) => {
    const { tries, failures } = await fuzz(fuzzer, { seed: 1, seconds: 13 });
    expect(failures).toEqual([]);
    expect(tries).toBeGreaterThan(20);
  },
  120_000,
);
