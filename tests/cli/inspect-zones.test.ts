// Reading never depends on the machine's zone: every fixture, under the clocks of five continents.
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { ROOT } from './support.ts';

const SCRIPT = `
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { parseIntervalData } from ${JSON.stringify(join(ROOT, 'packages/core/dist/meter/index.js'))};
const folder = ${JSON.stringify(join(ROOT, 'fixtures/meter/'))};
const hash = createHash('sha256');
let series = 0;
for (const { file, options } of JSON.parse(readFileSync(folder + 'index.json', 'utf8'))) {
  const result = parseIntervalData(readFileSync(folder + 'files/' + file), options);
  if (result.series !== undefined) series++;
  hash.update(JSON.stringify(result, (_, value) => ArrayBuffer.isView(value) ? Array.from(value) : value));
}
process.stdout.write(new Date(2026, 0, 1).getTimezoneOffset() + ' ' + series + ' ' + hash.digest('hex'));
`;

test('all fixtures read alike under the clocks of five continents', () => {
  const runs = [
    'UTC',
    'America/Los_Angeles',
    'Europe/Berlin',
    'Asia/Kolkata',
    'Africa/Nairobi',
    'Australia/Lord_Howe',
  ].map((TZ) => {
    const { stdout, stderr, status } = spawnSync(process.execPath, ['--input-type=module', '-e', SCRIPT], {
      env: { ...process.env, TZ },
      encoding: 'utf8',
    });
    expect(status, stderr).toBe(0);
    const [offset, series, hash] = stdout.split(' ');
    return { offset, series: Number(series), hash };
  });
  // The zones took: six different offsets.
  expect(new Set(runs.map((run) => run.offset)).size).toBe(6);
  expect(runs[0]!.series).toBeGreaterThan(100);
  expect(new Set(runs.map((run) => run.hash)).size).toBe(1);
});
