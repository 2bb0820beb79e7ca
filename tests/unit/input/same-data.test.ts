import { describe, expect, test } from 'vitest';
import { sameData } from '../../../packages/core/src/input/same-data.ts';

describe('the same data', () => {
  test.each([
    [1, 1],
    [Number.NaN, Number.NaN],
    [{ a: 1, b: undefined }, { a: 1 }],
    [{ a: 1 }, { a: 1, b: undefined }],
    [
      [1, { a: [2] }],
      [1, { a: [2] }],
    ],
    [new Float64Array([1, 2]), new Float64Array([1, 2])],
  ])('%j and %j', (a, b) => expect(sameData(a, b)).toBe(true));

  test.each([
    [1, 2],
    [0, -0],
    [null, {}],
    [{ a: 1 }, { a: 1, b: 2 }],
    [
      [1, 2],
      [1, 2, 3],
    ],
    [
      [1, 2, 3],
      [1, 2],
    ],
    [[], {}],
    [[1], { 0: 1, length: 1 }],
    [{ 0: 1, length: 1 }, [1]],
    [new Float64Array([1, 2]), new Float64Array([1, 3])],
    [new Float64Array([1, 2]), [1, 2]],
  ])('not %j and %j', (a, b) => expect(sameData(a, b)).toBe(false));
});
