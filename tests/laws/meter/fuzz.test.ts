// Damaged files are tried in tests/laws/fuzz.test.ts.
import { parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { monsters, wrongWith } from '../../support/mutate-meter.mjs';

test('hostile files are refused, each in under twenty seconds', () => {
  for (const { name, bytes, options } of monsters()) {
    const begun = performance.now();
    const result = parseIntervalData(bytes, options);
    expect(wrongWith(result), name).toBeUndefined();
    // A hang, not a benchmark: the slowest takes some tenths of a second on an idle machine.
    expect(performance.now() - begun, name).toBeLessThan(20_000);
  }
});

test('a file over the size limit is refused by its size', () => {
  expect(parseIntervalData(new Uint8Array(101), { maxBytes: 100 }).findings).toMatchObject([{ code: 'too-large' }]);
  expect(parseIntervalData(new Uint8Array(256 * 1024 * 1024 + 1)).findings).toMatchObject([{ code: 'too-large' }]);
});
