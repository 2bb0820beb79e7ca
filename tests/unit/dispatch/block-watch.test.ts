// Looking ahead under blocks: the price of a later kWh is that of the block in which its billing period will end.
import type { TierTerm } from '@duskbank/core/tariff';
import { describe, expect, it } from 'vitest';
import { BlockWatch } from '../../../packages/core/src/dispatch/rolling/block-watch.ts';
import type { StrategyView } from '../../../packages/core/src/dispatch/strategy.ts';

const HOURS = 100;

/** Two periods of 100 hours with blocks to 50 and 80 kWh, and the watch of a run that imports what is given. */
function watching(importKwh: Float64Array, flow: TierTerm['flow'] = 'import') {
  const bounds = Float64Array.of(50, 80, Number.POSITIVE_INFINITY);
  const adders = Float64Array.of(0, 0.1, 0.25);
  const term: TierTerm = {
    kind: 'tier',
    name: 'Blocks',
    flow,
    group: Int32Array.from({ length: 2 * HOURS + 1 }, (_, i) => (i === 2 * HOURS ? -1 : Math.floor(i / HOURS))),
    groups: 2,
    period: Int32Array.of(0, 1),
    convex: true,
    upToKwh: [bounds, bounds],
    adderPerKwh: [adders, adders],
  };
  const view = { tariff: { terms: [term] }, flows: { importKwh } } as unknown as StrategyView;
  const watch = new BlockWatch(view);
  const priceAt = (i: number) => {
    const price = Float64Array.of(0.2);
    watch.addTo(price, i, i + 1);
    return price[0];
  };
  return { watch, priceAt };
}
const steady = (kwh: number) => new Float64Array(2 * HOURS + 1).fill(kwh);

describe('the block that a period is on its way to', () => {
  it('goes by the mean draw until a tenth of it has passed, then by what it took', () => {
    const { watch, priceAt } = watching(steady(0.9));
    watch.update(0, 0.4);
    expect([priceAt(0), priceAt(HOURS)]).toEqual([0.2, 0.2]);
    // Ten hours are a tenth: the draw of 0.4 kWh still counts. With the eleventh 90 kWh are expected.
    watch.update(10, 0.4);
    expect(priceAt(50)).toBe(0.2);
    watch.update(11, 0.4);
    expect([priceAt(50), priceAt(HOURS)]).toEqual([0.45, 0.2]);
  });

  it('a block ends with its last kWh: just as much lies in it, a little more in the next', () => {
    for (const [kwh, price] of [
      [0.5, 0.2],
      [0.51, 0.3],
      [0.8, 0.3],
      [0.81, 0.45],
    ] as const) {
      const { watch, priceAt } = watching(steady(kwh));
      watch.update(50, 0);
      expect(priceAt(60), `${kwh}`).toBeCloseTo(price, 12);
    }
  });

  it('adds up in parts what it adds up at once, and counts each change once', () => {
    const taken = steady(0).map((_, i) => (i < 20 ? 1 : 0.2));
    const { watch, priceAt } = watching(taken);
    watch.update(0, 0.1);
    const first = watch.revision;
    watch.update(20, 0.1);
    expect([priceAt(30), watch.revision - first]).toEqual([0.45, 1]);
    // 20 kWh and 40 hours of 0.2: 46.7 kWh in all are expected.
    watch.update(60, 0.1);
    expect([priceAt(70), watch.revision - first]).toEqual([0.2, 2]);
    watch.update(60, 0.1);
    expect(watch.revision - first).toBe(2);
  });

  it('hours outside every period, and blocks of what is sold, raise nothing', () => {
    const { watch, priceAt } = watching(steady(1));
    watch.update(50, 1);
    expect(priceAt(2 * HOURS)).toBe(0.2);
    const sold = watching(steady(1), 'export');
    sold.watch.update(50, 1);
    expect(sold.priceAt(60)).toBe(0.2);
  });
});
