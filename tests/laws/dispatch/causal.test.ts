import {
  type Home,
  hold,
  peakShave,
  publishedUntil,
  runStrategy,
  selfConsumption,
  windowFill,
} from '@duskbank/core/dispatch';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { anyHome, seeded } from '../../support/homes.ts';

/** The same home up to interval `t`, another life after it. */
function anotherFuture(home: Home, t: number, seed: number): Home {
  const random = seeded(seed);
  const change = (series: Float64Array, most: number) =>
    series.map((value, i) => (i < t ? value : random() * most * home.axis.stepHours));
  const plant =
    typeof home.plant.reach === 'number' ? home.plant : { ...home.plant, reach: change(home.plant.reach, 3) };
  return { ...home, plant, loadKwh: change(home.loadKwh, 5), solarKwh: change(home.solarKwh, 5) };
}

test.each([hold, selfConsumption, windowFill, peakShave(), peakShave({ targetKw: 2 })])(
  'changing the data after hour t changes no flow before t: $name',
  (strategy) => {
    fc.assert(
      fc.property(anyHome, fc.double({ min: 0.05, max: 0.95, noNaN: true }), fc.nat(), (home, share, seed) => {
        const t = Math.max(1, Math.floor(home.axis.intervals * share));
        const before = runStrategy(strategy, home).flows;
        const after = runStrategy(strategy, anotherFuture(home, t, seed)).flows;
        for (const name of ['socKwh', 'chargeKwh', 'dischargeKwh', 'importKwh', 'exportKwh'] as const)
          expect(after[name].subarray(0, t)).toEqual(before[name].subarray(0, t));
      }),
      { seed: 20260104, numRuns: 120 },
    );
  },
);

test('a causal strategy that looks ahead reads NaN, and the run says so', () => {
  fc.assert(
    fc.property(anyHome, (home) => {
      const peeping = {
        name: 'peeping',
        knowledge: 'causal' as const,
        begin: (view: { loadKwh: Float64Array; axis: { intervals: number } }) => ({
          plan(from: number, _soc: number, levels: { serveDownToKwh: Float64Array }) {
            levels.serveDownToKwh[from] = view.loadKwh[from]!;
            return from + 1;
          },
        }),
      };
      expect(() => runStrategy(peeping, home)).toThrow(/not a number/);
    }),
    { seed: 20260105, numRuns: 20 },
  );
});

test('day-ahead prices appear at 13:00 local the day before, and not earlier', () => {
  fc.assert(
    fc.property(anyHome, (base) => {
      const home: Home = { ...base, tariff: { ...base.tariff, priceKnowledge: 'day-ahead' } };
      const { day, minuteOfDay } = home.axis.calendar;
      let looked = 0;
      runStrategy(
        {
          name: 'reader',
          knowledge: 'causal',
          begin: (view) => ({
            plan(from) {
              const until = publishedUntil(home.axis, from);
              for (let i = 0; i < home.axis.intervals; i++) {
                const known = !Number.isNaN(view.tariff.importPricePerKwh[i]!);
                const mayKnow = day[i]! <= day[from]! + (minuteOfDay[from]! >= 780 ? 1 : 0);
                expect(known).toBe(mayKnow);
                expect(i < until).toBe(mayKnow);
                looked++;
              }
              return from + 5;
            },
          }),
        },
        home,
      );
      expect(looked).toBeGreaterThan(0);
    }),
    { seed: 20260106, numRuns: 10 },
  );
});
