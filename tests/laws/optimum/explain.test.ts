import { storedValue } from '@duskbank/core/dispatch';
import { expect, test } from 'vitest';
import { type PriceKind, randomProblem, seeded } from '../../reference/optimum/problems.ts';

test('at 1,000 random moments the cost to go falls by what a stored kWh is said to be worth', () => {
  const kinds: PriceKind[] = ['window', 'tiered-window', 'volatile', 'net-metered'];
  const random = seeded(99);
  for (let moment = 0; moment < 1000; moment++) {
    // Every option of the problem comes up; the floor and capacity are those of the moment's end.
    const problem = randomProblem(1 + (moment % 97), 160, kinds[moment % 4]!, moment % 2 === 0);
    const from = Math.floor(random() * 160);
    const at = (value: number | Float64Array) => (typeof value === 'number' ? value : value[from]!);
    const floor = at(problem.floorKwh);
    const room = at(problem.capacityKwh) - floor;
    const soc = floor + 0.9 * random() * room;
    const step = 0.05 * room;
    const here = storedValue(problem, from, soc);
    const above = storedValue(problem, from, soc + step);
    const fall = (here.costToGo - above.costToGo) / step;
    // Unserved load has a price above all money that is no part of the cost.
    if (here.perKwh > 10 || above.perKwh > 10) continue;
    // 1e-8: difference of two costs of some tens over some tenths of a kWh
    expect(fall, `moment ${moment}`).toBeLessThanOrEqual(here.perKwh + 1e-8);
    expect(fall, `moment ${moment}`).toBeGreaterThanOrEqual(above.perKwh - 1e-8);
  }
});
