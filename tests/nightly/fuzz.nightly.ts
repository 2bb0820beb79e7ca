import { expect, test } from 'vitest';
import { archives } from '../support/fuzz/archives.ts';
import { commands } from '../support/fuzz/commands.ts';
import { documents } from '../support/fuzz/documents.ts';
import { fuzz } from '../support/fuzz/fuzzer.ts';
import { KEPT, MOST_MB, megabytes, SECONDS, SEED } from './settings.ts';

// A command is a process of its own: most of the time goes to them. Meter files have a file, and so a core, of their own.
test.each([
  { fuzzer: documents, share: 1 / 6 },
  { fuzzer: archives, share: 1 / 6 },
  { fuzzer: commands, share: 4 / 6 },
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
