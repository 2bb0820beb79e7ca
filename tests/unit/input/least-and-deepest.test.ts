// Two limits of the doors, each seen from both of its sides.
import { InputError } from '@duskbank/core/input';
import { expect, test } from 'vitest';
import { check, number } from '../../../packages/core/src/input/door.ts';
import { ownCopy } from '../../../packages/core/src/input/own-copy.ts';

test('what must be more than 0 is at least a billionth: less would have no bounds once it divides', () => {
  const rule = { hours: number({ above: 0 }) };
  expect(() => check({ hours: 1e-9 }, rule)).not.toThrow();
  expect(() => check({ hours: 9e-10 }, rule)).toThrow(InputError);
  // Where the bound is another, it is that one alone.
  expect(() => check({ hours: 1 + 1e-12 }, { hours: number({ above: 1 }) })).not.toThrow();
});

test('a report is copied to its fortieth level, and refused beyond', () => {
  const deep = (levels: number): unknown => (levels === 0 ? 7 : { inner: deep(levels - 1) });
  expect(ownCopy(deep(40))).toEqual(deep(40));
  expect(() => ownCopy(deep(41))).toThrow(InputError);
});
