import { expect } from 'vitest';
import { type Fuzzer, fuzz } from '../support/fuzz/fuzzer.ts';
import { KEPT, MOST_MB, megabytes, SECONDS, SEED } from './settings.ts';

/**
 * Runs a fuzzer for its share of the time that the night has, prints what it came to, and wants no failure. Each fuzzer has a
 * file, and so a process, of its own; the shares are such that on two cores each comes to its number in 20 minutes: 200,000
 * documents, 100,000 meter files, 2,000 command lines.
 */
export async function fuzzForShare(fuzzer: Fuzzer, share: number): Promise<void> {
  const { tries, failures, slowest } = await fuzz(fuzzer, { seed: SEED, seconds: SECONDS * share, keepIn: KEPT });
  process.stdout.write(
    `${fuzzer.name}: ${tries} tries from seed ${SEED}, slowest ${slowest.ms.toFixed(0)} ms (${slowest.name}); ${megabytes()} MB\n`,
  );
  expect(failures).toEqual([]);
  expect(megabytes()).toBeLessThan(MOST_MB);
}
