import { parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { meterFiles } from '../support/fuzz/meter.ts';
import { monsters, wrongWith } from '../support/mutate-meter.mjs';
import { fuzzForShare } from './fuzz.ts';

test('meter files damaged on purpose', () => fuzzForShare(meterFiles, 0.85), 3_600_000);

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
