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

test.each([
  ['2026-03-01T06:30:00Z', '2026-03-01 06:30'],
  ['1900-01-01T06:30:45Z', '54:30:45'],
  ['1899-12-30T07:05:59Z', '07:05:59'],
])('%s, which a sheet holds, is written %s', (instant, text) => {
  expect(textOfSheet([[new Date(instant)]], undefined).cells).toEqual([[text]]);
});
