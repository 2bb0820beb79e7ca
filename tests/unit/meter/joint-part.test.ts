// Several texts that name a part together: what kind of part it is.
import { expect, test } from 'vitest';
import { jointPart, type Part } from '../../../packages/core/src/meter/part.ts';

const part = (id: string, kind: Part['kind']): Part => ({ id, kind });

test('a circuit stays one whatever stands beside it; else what was stated goes before a window', () => {
  expect(jointPart([])).toBeUndefined();
  expect(jointPart([part('a', 'window')])).toEqual(part('a', 'window'));
  expect(jointPart([part('oven', 'circuit'), part('peak', 'window')])).toEqual(part('oven, peak', 'circuit'));
  expect(jointPart([part('peak', 'window'), part('x', 'stated')])).toEqual(part('peak, x', 'stated'));
  expect(jointPart([part('x', 'other'), part('peak', 'window')])).toEqual(part('x, peak', 'window'));
  expect(jointPart([part('x', 'other'), part('y', 'other')])).toEqual(part('x, y', 'other'));
});
