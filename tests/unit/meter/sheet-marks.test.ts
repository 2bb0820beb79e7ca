// A sheet's numbers have no mark before their decimals: texts beside them that are numbers tell it, where they can.
import { expect, test } from 'vitest';
import { textOfSheet } from '../../../packages/core/src/meter/sheet-text.ts';

const markOf = (...cells: (string | number)[]) =>
  textOfSheet(
    cells.map((cell) => [cell]),
    undefined,
  ).decimal;

test.each([
  [[0.125, 0.5], '.'],
  [[1, 2], undefined],
  [['0,5', 1.25], ','],
  [['1.234,5', 1], ','],
  // A comma before three digits may part thousands: then nothing is settled.
  [['1,234', 0.5], undefined],
  [['0,125', 0.5], ','],
])('%j: %s', (cells, mark) => expect(markOf(...cells)).toBe(mark));
