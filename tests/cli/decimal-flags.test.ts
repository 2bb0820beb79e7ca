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

test.each([
  ['--reserve', '5e-324', 'write 0, or a percentage above 1'],
  ['--reserve', '0.2', 'write 20 for 20 %, or "0.2 %" with its sign'],
  ['--charge-to', '1e-300', 'write 0, or a percentage above 1'],
  ['--charge-kw', '1e308', 'expected a power in kW, such as 2.5: 0.001 or more, and about what the plant takes'],
  ['--charge-kw', '1e-9', 'expected a power in kW, such as 2.5: 0.001 or more, and about what the plant takes'],
])('a number that no box takes is told its bounds, and a cure that can be typed: %s %s', (flag, value, said) => {
  const run = duskbank(['settings', 'site.yaml', '--charge', '23:00-05:00', flag, value], copyOf('small'));
  expect(run).toMatchObject({ status: 2, stdout: '' });
  expect(run.stderr).toContain(said);
});

test('a target below the reserve is told as raised to it', () => {
  const args = ['settings', 'site.yaml', '--charge', '23:00-05:00', '--reserve', '20'];
  const told = (target: string) =>
    duskbank([...args, '--charge-to', target], copyOf('small')).stdout.replace(/\s+/g, ' ');
  expect(told('3')).toContain('charges 23:00–05:00 up to 20 %, its reserve, since 3 % would be below it');
  expect(told('40')).toContain('charges 23:00–05:00 up to 40 %, keeps 20 %');
});

test.each([
  ['--billed-kwh', '0', 'a number from 0.001 to 1000000000'],
  ['--price', '5e-324', 'a number from 0.000001 to 1000'],
])('what inspect reckons with names its flag and both its bounds: %s %s', (flag, value, said) => {
  const run = duskbank(['inspect', 'home.csv', '--zone', 'Australia/Adelaide', flag, value], copyOf('small'));
  expect(run).toMatchObject({ status: 2, stdout: '' });
  expect(run.stderr).toContain(`${flag}: received "${value}"; expected ${said}`);
});
