import { InputError } from '@duskbank/core/input';
import { survivalCurve } from '@duskbank/core/outage';
import { makeFlows } from '@duskbank/core/plant';
import { expect, test } from 'vitest';

test('what only calls itself a Float64Array is none', () => {
  const pretends = { [Symbol.toStringTag]: 'Float64Array', length: 2, 0: 1, 1: 2 };
  expect(() => survivalCurve(pretends as never)).toThrow(InputError);
  // Nor is one of another kind: its numbers were cut to whole ones.
  expect(() => survivalCurve(Int32Array.of(1, 2) as never)).toThrow(InputError);
  expect(survivalCurve(makeFlows(2).socKwh).starts).toBe(2);
});
