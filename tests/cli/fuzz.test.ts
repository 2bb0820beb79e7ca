// A short seeded run of what the fuzzers of tests/nightly do at length.
import { expect, test } from 'vitest';
import { commands } from '../support/fuzz/commands.ts';
import { fuzz } from '../support/fuzz/fuzzer.ts';

test('command lines that nobody means are refused or answered, and change no file', async () => {
  const { tries, failures } = await fuzz(commands, { seed: 1, seconds: 20, most: 60 });
  expect(failures).toEqual([]);
  expect(tries).toBeGreaterThan(5);
}, 120_000);
