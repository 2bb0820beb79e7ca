// Kept answers: see tests/support/kept.ts. Columns beside those that are read: copies, sums, parts, running totals and registers that take turns,
// each true but for so many rows, on either side of how many there may be.
import type { ParseOptions } from '@duskbank/core/meter';
import { drawn, fileOf, isAmong, keepLadders, type Ladder, labelAt, rowsOf, steps } from '../../support/ladders.ts';

const ROWS = 200;
/** What the home takes, and a second flow that is nothing for half of the day. */
const first = (i: number) => Number(drawn(i).toFixed(3));
const second = (i: number) => (i % 24 < 12 ? 0 : Number(drawn(i + 31).toFixed(3)));
/** Whether one of `odd` rows, spread over all. */
const isOdd = (i: number, odd: number) => isAmong(i, odd, ROWS);
const sumTo = (i: number, of: (k: number) => number) =>
  Array.from({ length: i + 1 }, (_, k) => of(k)).reduce((a, b) => a + b, 0);

type Cells = (i: number, rung: number) => readonly number[];
interface Case {
  readonly rungs: readonly number[];
  readonly cells: Cells;
  readonly decimals?: number;
}

const CASES: Readonly<Record<string, Case>> = {
  'the same but for some rows': {
    rungs: [0, 1, 2, 3, 4, 5, 40],
    cells: (i, n) => [first(i), isOdd(i, n) ? first(i) + 0.3 : first(i)],
  },
  'a thousandth of it and noise': {
    rungs: [0, 0.01, 0.02, 0.03, 0.1],
    cells: (i, n) => [first(i), first(i) + n * second(i)],
  },
  'so small a share': {
    rungs: [0.0009, 0.001, 0.0011, 0.002, 0.01],
    cells: (i, n) => [first(i), i % 24 < 12 ? 0 : n * 2 * first(i - 7)],
    decimals: 6,
  },
  'the sum of both but for some rows': {
    rungs: [0, 1, 3, 4, 5, 8],
    cells: (i, n) => [first(i), second(i), first(i) + second(i) + (isOdd(i, n) ? 0.4 : 0)],
  },
  'the sum of both but for the last digits': {
    rungs: [0, 0.001, 0.0015, 0.002, 0.003],
    cells: (i, n) => [first(i), second(i), first(i) + second(i) + n],
    decimals: 4,
  },
  'their difference above zero': {
    rungs: [0, 2, 4, 5],
    cells: (i, n) => [first(i), second(i), Math.max(0, second(i) - first(i)) + (isOdd(i, n) ? 0.4 : 0)],
  },
  'a part of it but for some rows': {
    rungs: [0, 1, 2, 6],
    cells: (i, n) => [first(i), first(i) * (isOdd(i, n) ? 1.2 : 0.4 + ((i * 13) % 7) / 20)],
  },
  'a running total that begins anew': {
    rungs: [0, 1, 2, 10, 19, 20, 21, 30],
    cells: (i, n) => [first(i), sumTo(i, (k) => (isOdd(k, n) ? 7 : first(k)))],
  },
  'a running total that falls': {
    rungs: [0, 1, 2, 3],
    cells: (i, n) => [first(i), sumTo(i, first) - (n > 0 && i >= ROWS / 2 ? n * 20 : 0) + 100],
  },
  'one at a time but for some rows': {
    rungs: [0, 1, 2, 3, 5, 10, 20],
    cells: (i, n) => [i % 24 < 12 || isOdd(i, n) ? first(i) : 0, second(i)],
  },
  'registers that count one at a time but for some rows': {
    rungs: [0, 1, 2, 5, 10],
    cells: (i, n) => [
      500 + sumTo(i, (k) => (k % 24 < 12 || isOdd(k, n) ? first(k) : 0)),
      900 + sumTo(i, (k) => (k % 24 < 12 ? 0 : first(k))),
    ],
  },
  'rows that lack': {
    rungs: [0, 1, 49, 50, 51, 199],
    cells: (i, n) => [first(i), isOdd(i, n) ? Number.NaN : second(i)],
  },
};

/** How the columns are called, three of them at the most, and what the user states. */
const NAMED: Readonly<Record<string, { readonly names: readonly string[]; readonly options?: ParseOptions }>> = {
  'of one name': { names: ['kWh', 'kWh', 'kWh'] },
  unnamed: { names: ['Usage (kWh)', 'Other (kWh)', 'Third (kWh)'] },
  'stated, one of two meters': {
    names: ['Meter 1 kWh', 'Meter 2 kWh', 'Meter 3 kWh'],
    options: { columns: { import: 2 } },
  },
  'stated, price windows': { names: ['Peak', 'Off-Peak', 'Shoulder'], options: { columns: { import: 2 } } },
  'stated, bought and sold': {
    names: ['Import kWh', 'Export kWh', 'Export 2 kWh'],
    options: { columns: { import: 2, export: 3 } },
  },
  'stated, sold not read': {
    names: ['Import kWh', 'Export kWh', 'Total usage kWh'],
    options: { columns: { import: 2 } },
  },
};

const ladders = Object.fromEntries(
  Object.entries(CASES).flatMap(([what, { rungs, cells, decimals = 3 }]) =>
    Object.entries(NAMED).map(([how, { names, options }]): [string, Ladder] => [
      `${what}; ${how}`,
      {
        rungs,
        make: (rung) => {
          const rows = rowsOf(ROWS, (i) =>
            [labelAt(i), ...cells(i, rung).map((kwh) => (Number.isNaN(kwh) ? '' : kwh.toFixed(decimals)))].join(','),
          );
          const count = cells(0, rung).length;
          const text = fileOf(['Start', ...names.slice(0, count)].join(','), rows);
          return options === undefined ? { text } : { text, options };
        },
      },
    ]),
  ),
);

keepLadders(ladders);

// A table of fewer rows shows less: from so many on a running total is known.
keepLadders({
  'so many rows of a running total': {
    rungs: steps(22, 28),
    make: (rung) =>
      fileOf(
        'Start,Usage (kWh),Reading (kWh)',
        rowsOf(rung, (i) => `${labelAt(i)},${first(i).toFixed(3)},${(50 + sumTo(i, first)).toFixed(3)}`),
      ),
  },
});
