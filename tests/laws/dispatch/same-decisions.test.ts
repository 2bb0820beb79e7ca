import {
  followPrices,
  type Home,
  hold,
  peakShave,
  rolling,
  runStrategy,
  type Strategy,
  selfConsumption,
  windowFill,
} from '@duskbank/core/dispatch';
import type { Flows } from '@duskbank/core/plant';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { anyHome } from '../../support/homes.ts';
import { windowStepwise } from '../../support/window-stepwise.ts';

/** The home, its prices published a day ahead or known far ahead, and in so many levels an hour. */
const pricedHome = fc
  .record({ home: anyHome, hourly: fc.boolean(), dayAhead: fc.boolean(), soldToo: fc.boolean() })
  .map(({ home, hourly, dayAhead, soldToo }): Home => {
    const { tariff, axis } = home;
    const moved = (prices: Float64Array, cents: number) =>
      prices.map(
        (price, i) =>
          price + (cents * ((axis.calendar.minuteOfDay[i]! / 60) >> 0) * (axis.calendar.weekday[i]! + 3)) / 1e4,
      );
    return {
      ...home,
      tariff: {
        ...tariff,
        priceKnowledge: dayAhead ? 'day-ahead' : 'published',
        importPricePerKwh: hourly ? moved(tariff.importPricePerKwh, 1) : tariff.importPricePerKwh,
        exportPricePerKwh: soldToo ? moved(tariff.exportPricePerKwh, 2) : tariff.exportPricePerKwh,
      },
    };
  });

/** The first interval in which two runs differ at all; −1 where there is none. */
function firstApart(a: Flows, b: Flows): number {
  for (let i = 0; i < a.socKwh.length; i++)
    for (const flow of Object.keys(a) as (keyof Flows)[]) if (!Object.is(a[flow][i], b[flow][i])) return i;
  return -1;
}

describe('window, planned by runs of equal prices', () => {
  test('decides what it decides step by step, to the bit, 1,000 homes', () => {
    let bought = 0;
    let sold = 0;
    fc.assert(
      fc.property(pricedHome, (home) => {
        const quick = runStrategy(windowFill, home);
        const plain = runStrategy(windowStepwise, home);
        // What a stranger would keep for a floor that rises it must see to itself.
        if (typeof home.plant.floorKwh === 'number') expect(firstApart(quick.flows, plain.flows)).toBe(-1);
        if (quick.flows.chargeKwh.some((kwh, i) => kwh > 0 && home.solarKwh[i] === 0)) bought++;
        if (quick.flows.dischargeKwh.some((kwh, i) => kwh > home.loadKwh[i]! + 0.01)) sold++;
      }),
      { seed: 20261128, numRuns: 1000 },
    );
    expect(Math.min(bought, sold)).toBeGreaterThan(50);
  });
});

describe('a strategy of the library, seen as a stranger', () => {
  // A stranger sees copies in which all that it may not see is NaN, and each of its levels is looked at.
  test.each([
    { own: hold, numRuns: 200 },
    { own: selfConsumption, numRuns: 200 },
    { own: windowFill, numRuns: 300 },
    { own: peakShave(), numRuns: 300 },
    { own: peakShave({ targetKw: 2 }), numRuns: 200 },
    { own: followPrices(), numRuns: 40 },
    { own: rolling(), numRuns: 40 },
  ])('runs to the bit as its own, and leaves no level that is none: $own.name', ({ own, numRuns }) => {
    const stranger: Strategy = { name: 'someone else’s', knowledge: 'causal', begin: (view) => own.begin(view) };
    fc.assert(
      fc.property(pricedHome, (home) => {
        if (typeof home.plant.floorKwh !== 'number') return;
        expect(firstApart(runStrategy(stranger, home).flows, runStrategy(own, home).flows)).toBe(-1);
      }),
      { seed: 20261129, numRuns },
    );
  });
});
