import { expect, test } from 'vitest';
import { commands } from '../support/fuzz/commands.ts';
import { fuzz } from '../support/fuzz/fuzzer.ts';
import { KEPT, SECONDS, SEED } from './settings.ts';

test('command lines that nobody means', async () => {
  const { tries, failures, slowest } = await fuzz(commands, { seed: SEED, seconds: SECONDS, keepIn: KEPT });
  process.stdout.write(
    `commands: ${tries} tries from seed ${SEED}, slowest ${slowest.ms.toFixed(0)} ms (${slowest.name})\n`,
  );
  expect(failures).toEqual([]);
}, 3_600_000);
