import { describe, expect, it } from 'vitest';
import { type Column, LeastCost } from '../../../packages/core/src/dispatch/optimum/least-cost.ts';
import { seeded } from '../../support/homes.ts';

/**
 * Ways from sources to sinks, each of its cost, so that every source gives 1 and every sink gets 1. Each row starts with a
 * column of its own, so dear that none is left in the end.
 */
function assignment(size: number, seed: number) {
  const random = seeded(seed);
  const columns: Column[] = [];
  for (let from = 0; from < size; from++)
    for (let to = 0; to < size; to++) columns.push({ cost: 1 + 9 * random(), row: [from, size + to], value: [1, 1] });
  const starts = Array.from({ length: 2 * size }, (_, r): Column => ({ cost: 1000, row: [r], value: [1] }));
  return { columns, starts, rightSide: new Array<number>(2 * size).fill(1) };
}

describe('the least cost of a linear program', () => {
  // Larger ones take more pivots than lie between two inverses worked out anew.
  it.each([2, 5, 12, 24])('keeps every row, and no column left out would pay, in an assignment of %d', (size) => {
    for (let seed = 1; seed <= 5; seed++) {
      const { columns, starts, rightSide } = assignment(size, seed);
      const program = new LeastCost(rightSide, starts);
      for (const column of columns) program.add(column);
      const { prices, weights, cost } = program.solve();
      const all = [...starts, ...columns];
      const held = new Float64Array(2 * size);
      let paid = 0;
      for (const [j, { cost: each, row, value }] of all.entries()) {
        for (const [e, r] of row.entries()) held[r] = held[r]! + value[e]! * weights[j]!;
        paid += each * weights[j]!;
        const reduced = each - row.reduce((sum, r, e) => sum + prices[r]! * value[e]!, 0);
        expect(reduced, `column ${j}, seed ${seed}`).toBeGreaterThan(-1e-6);
      }
      for (const kept of held) expect(kept).toBeCloseTo(1, 6);
      expect(paid).toBeCloseTo(cost, 6);
      // Strong duality: what the rows are worth at the prices is what is paid.
      expect(prices.reduce((sum, price, r) => sum + price * rightSide[r]!, 0)).toBeCloseTo(cost, 5);
    }
  });

  it('goes on from where it stood after a column is added', () => {
    const { columns, starts, rightSide } = assignment(6, 9);
    const program = new LeastCost(rightSide, starts);
    for (const column of columns) program.add(column);
    const before = program.solve().cost;
    program.add({ cost: 0.5, row: [0, 6], value: [1, 1] });
    const { cost, weights } = program.solve();
    expect(cost).toBeLessThan(before);
    expect(weights.at(-1)).toBeCloseTo(1, 6);
  });
});
