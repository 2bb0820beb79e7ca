// What a cell holds where a number is expected: no more is read into it than is written.

import { makeAxis } from '@duskbank/core/axis';
import { describe, expect, test } from 'vitest';
import { readingsAboveService } from '../../../packages/core/src/meter/service.ts';
import { readNumber, readPlain } from '../../../packages/core/src/meter/table/numbers.ts';

describe('blanks and apostrophes between digits', () => {
  test.each([
    ['1 234', false, 1234],
    ['1 234,5', true, 1234.5],
    ['12\u202f345.25', false, 12_345.25],
    ["1'234'567", false, 1_234_567],
    ['€ 1 234,50', true, 1234.5],
    ['(1 234)', false, -1234],
    ['- 0.25', false, -0.25],
  ])('%j parts thousands: %f', (cell, decimalComma, value) => {
    expect(readNumber(cell, decimalComma)).toBe(value);
  });

  test.each(['1 23', '12 34', '5 6 2025', '+1 778 899 01', '778 899 0123', '1 2', "1'2", '1  2'])(
    '%j is no number: they part something else',
    (cell) => {
      expect(readNumber(cell, false)).toBeNaN();
      expect(readNumber(cell, true)).toBeNaN();
    },
  );
});

test.each(['0x10', '1e308', '1e15', '', ' 1', '1 ', '1_0', 'Infinity', 'NaN', '0b1', '1e', '--1'])(
  'in formats for machines %j is no number',
  (cell) => {
    expect(readPlain(cell)).toBeNaN();
  },
);

test('in formats for machines numbers are what JSON has, and with a plus', () => {
  for (const cell of ['0', '-1.5', '+2', '1e-7', '.5', '5.', '1.25E3']) expect(readPlain(cell)).toBe(Number(cell));
});

test('a power beyond any home’s, which may be somebody’s number, is told by two digits', () => {
  const axis = makeAxis({ startEpochMs: 0, stepMinutes: 60, intervals: 24, zone: 'UTC' });
  const told = (kwh: number) => {
    const importKwh = new Float64Array(24).fill(0.3);
    importKwh[5] = kwh;
    return readingsAboveService({ axis, importKwh }, { drawKw: 100, feedKw: 100 }).map(({ mostKw }) => mostKw);
  };
  expect(told(7_788_990_123)).toEqual([7_800_000_000]);
  expect(told(12_345.5)).toEqual([12_345.5]);
});
