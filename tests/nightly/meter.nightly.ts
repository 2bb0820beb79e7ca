import { parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { fuzz } from '../support/fuzz/fuzzer.ts';
import { meterFiles } from '../support/fuzz/meter.ts';
import { monsters, wrongWith } from '../support/mutate-meter.mjs';
import { KEPT, MOST_MB, megabytes, SECONDS, SEED } from './settings.ts';

test('meter files damaged on purpose', async () => {
  const { tries, failures, slowest } = await fuzz(meterFiles, { seed: SEED, seconds: SECONDS, keepIn: KEPT });
  process.stdout.write(
    `meter-files: ${tries} tries from seed ${SEED}, slowest ${slowest.ms.toFixed(0)} ms (${slowest.name}); ${megabytes()} MB\n`,
  );
  expect(failures).toEqual([]);
  expect(megabytes()).toBeLessThan(MOST_MB);
}, 3_600_000);

// Ten million columns, entity bombs, XML nested 100,000 deep, archive bombs: up to 120 MB that this process makes itself.
test('hostile files of meters', () => {
  for (const { name, bytes, options } of monsters()) {
    const begun = process.cpuUsage();
    expect(wrongWith(parseIntervalData(bytes, options)), name).toBeUndefined();
    const { user, system } = process.cpuUsage(begun);
    process.stdout.write(`${name}: ${((user + system) / 1e3).toFixed(0)} ms of CPU\n`);
    expect((user + system) / 1e6, name).toBeLessThan(20);
  }
}, 600_000);
