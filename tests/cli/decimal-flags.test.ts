import { expect, test } from 'vitest';
import { copyOf, duskbank } from './support.ts';

// As in meter files: 0x14 is somebody's slip, and 20 is a plausible reserve.
test.each([
  ['settings', 'site.yaml', '--reserve', '0x14'],
  ['inspect', 'home.csv', '--zone', 'Australia/Adelaide', '--scale', 'import=0b11'],
  ['inspect', 'home.csv', '--zone', 'Australia/Adelaide', '--scale', 'import=0x2'],
  ['inspect', 'home.csv', '--zone', 'Australia/Adelaide', '--shift', '0x3c'],
])('a number in another notation is refused: %s %s %s %s', (...args) => {
  const run = duskbank(args, copyOf('small'));
  expect(run).toMatchObject({ status: 2, stdout: '' });
  expect(run.stderr).toContain(args.at(-1)!.split('=').at(-1));
});
