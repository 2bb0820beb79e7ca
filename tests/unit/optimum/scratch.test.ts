import { makeScratch } from '@duskbank/core/dispatch';
import { expect, test } from 'vitest';

test('an array given back is lent out once', () => {
  const scratch = makeScratch();
  const first = scratch.doubles('slope', 10);
  scratch.giveBack('slope', first);
  expect(scratch.doubles('slope', 10)).toBe(first);
  expect(scratch.doubles('slope', 10)).not.toBe(first);
});

test('an array of another role, too short, far too long or of another kind is not lent', () => {
  const scratch = makeScratch();
  const first = scratch.doubles('slope', 10);
  const after = (take: () => object) => {
    scratch.giveBack('slope', first);
    return take() === first;
  };
  expect(after(() => scratch.doubles('width', 10))).toBe(false);
  expect(after(() => scratch.doubles('slope', 11))).toBe(false);
  expect(after(() => scratch.bytes('slope', 10))).toBe(false);
  expect(after(() => scratch.doubles('slope', 9))).toBe(true);
  const long = scratch.doubles('level', 8 * 10 + 1024 + 1);
  scratch.giveBack('level', long);
  expect(scratch.doubles('level', 10)).not.toBe(long);
});
