// A short seeded run of what the fuzzers of tests/nightly do at length.
import { expect, test } from 'vitest';
import { archives } from '../support/fuzz/archives.ts';
import { sites, tariffs } from '../support/fuzz/documents.ts';
import { fuzz } from '../support/fuzz/fuzzer.ts';
import { meterFiles } from '../support/fuzz/meter.ts';

// As many as are the same on every machine that isn't slow: what fails here fails everywhere.
test.each([
  { fuzzer: sites, most: 400 },
  { fuzzer: tariffs, most: 400 },
  { fuzzer: archives, most: 5000 },
  { fuzzer: meterFiles, most: 150 },
])(
  '$fuzzer.name damaged on purpose are refused, or answered with numbers',
  async ({ fuzzer, most }) => {
    const { tries, failures } = await fuzz(fuzzer, { seed: 1, seconds: 20, most });
    expect(failures).toEqual([]);
    expect(tries).toBeGreaterThan(20);
  },
  120_000,
);
