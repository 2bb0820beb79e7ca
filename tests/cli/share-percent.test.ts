import { expect, test } from 'vitest';
import { countedTo, hours, sharePercent } from '../../packages/cli/src/render/numbers.ts';

test('a share is 100 % where it is all of them, and 0 % where it is none', () => {
  const told = [1, 0.9993, 0.99996, 0.995, 0.994, 0.5, 0.004, 0.0001, 0].map((share) => sharePercent(share));
  expect(told).toEqual(['100 %', '99.9 %', 'over 99.9 %', '99.5 %', '99 %', '50 %', '0.4 %', 'under 0.1 %', '0 %']);
});

test('hours at the cap of short data are told in hours', () => {
  expect(countedTo(336)).toBe('14+ days');
  expect(hours(24, 24)).toBe('24+ h');
  expect(hours(336, 336)).toBe('14+ days');
});
