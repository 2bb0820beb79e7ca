import { expect, test } from 'vitest';
import { archives } from '../support/fuzz/archives.ts';
import { documents } from '../support/fuzz/documents.ts';
import { fuzz } from '../support/fuzz/fuzzer.ts';
import { KEPT, MOST_MB, megabytes, SECONDS, SEED } from './settings.ts';

// Meter files and command lines have a file, and so a process, of their own.
test.each([
  { fuzzer: documents, share: 0.9 },
  { fuzzer: archives, share: 0.1 },
])(
  '$fuzzer.name damaged on purpose',
  async ({ fuzzer, share }) => {
    const { tries, failures, slowest } = await fuzz(fuzzer, { seed: SEED, seconds: SECONDS * share, keepIn: KEPT });
    process.stdout.write(
      `${fuzzer.name}: ${tries} tries from seed ${SEED}, slowest ${slowest.ms.toFixed(0)} ms (${slowest.name}); ${megabytes()} MB\n`,
    );
    expect(failures).toEqual([]);
    expect(megabytes()).toBeLessThan(MOST_MB);
  },
  3_600_000,
);
