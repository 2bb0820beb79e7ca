import { expect } from 'vitest';
import { type Fuzzer, fuzz } from '../support/fuzz/fuzzer.ts';
import { KEPT, MOST_MB, megabytes, SECONDS, SEED } from './settings.ts';

/**
 * Runs a fuzzer for its share of the time that the night has, prints what it came to, and wants no failure. Each fuzzer has a
 * file, and so a process, of its own. On two cores 30 minutes are some 219,000 documents, 108,000 meter files and 2,160 command
 * lines (measured, seed 20261203): 20 minutes are too few for 200,000 documents and 100,000 meter files there.
 */
export async function fuzzForShare(fuzzer: Fuzzer, share: number): Promise<void> {
  const { tries, failures, slowest } = await fuzz(fuzzer, { seed: SEED, seconds: SECONDS * share, keepIn: KEPT });
  process.stdout.write(
    `${fuzzer.name}: ${tries} tries from seed ${SEED}, slowest ${slowest.ms.toFixed(0)} ms (${slowest.name}); ${megabytes()} MB\n`,
  );
  expect(failures).toEqual([]);
  expect(megabytes()).toBeLessThan(MOST_MB);
}
