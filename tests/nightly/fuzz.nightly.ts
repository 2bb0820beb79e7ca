import { expect, test } from 'vitest';
import { archives } from '../support/fuzz/archives.ts';
import { commands } from '../support/fuzz/commands.ts';
import { documents } from '../support/fuzz/documents.ts';
import { fuzz } from '../support/fuzz/fuzzer.ts';
import { meterFiles } from '../support/fuzz/meter.ts';

// `NIGHTLY_SEED=20260801 NIGHTLY_SECONDS=1200 pnpm nightly`: other inputs, and how long in all. What fails is kept as files.
const SEED = Number(process.env.NIGHTLY_SEED ?? 1);
const SECONDS = Number(process.env.NIGHTLY_SECONDS ?? 240);
const KEPT = '.test-results/kept';

test.each([documents, archives, meterFiles, commands])(
  '$name damaged on purpose',
  async (fuzzer) => {
    const { tries, failures, slowest } = await fuzz(fuzzer, { seed: SEED, seconds: SECONDS / 4, keepIn: KEPT });
    process.stdout.write(
      `${fuzzer.name}: ${tries} tries from seed ${SEED}, slowest ${slowest.ms.toFixed(0)} ms (${slowest.name})\n`,
    );
    expect(failures).toEqual([]);
  },
  3_600_000,
);
