import {
  followPrices,
  type Home,
  hold,
  peakShave,
  publishedUntil,
  rolling,
  runStrategy,
  type Strategy,
  selfConsumption,
  windowFill,
} from '@duskbank/core/dispatch';
import { movingFloor } from '@duskbank/core/outage';
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

/** Sells down to what the last of the floor asks for, which it may not know. */
const lookingAtFloors: Strategy = {
  name: 'looking at floors',
  knowledge: 'causal',
  begin: ({ plant, axis }) => ({
    plan(from, _soc, levels) {
      const floorKwh = plant.floorKwh as Float64Array;
      const ahead = floorKwh.subarray(from, Math.min(axis.intervals, from + 96));
      levels.serveDownToKwh[from] = Math.max(
        ...ahead,
        ...(plant.floorAsKnown ?? []).map((known) => known.floorKwh[from]!),
      );
      return from + 1;
    },
  }),
};

/** The home with a planned outage that begins `hours` after its start and lasts eight, noticed so long before. */
function withOutage(home: Home, hours: number | undefined, noticeHours: number): Home & { noticed: number } {
  const { axis, plant, loadKwh } = home;
  const local = (ms: number) => {
    const shown = new Intl.DateTimeFormat('sv-SE', { timeZone: axis.zone, dateStyle: 'short', timeStyle: 'short' });
    return shown.format(ms).replace(' ', 'T');
  };
  const startMs = axis.startEpochMs + (hours ?? 0) * 3_600_000;
  const planned = [{ from: local(startMs), to: local(startMs + 8 * 3_600_000), noticeHours }];
  const reserve = {
    byHour: [{ from: '21:00', to: '06:00', share: 0.5 }],
    ...(hours === undefined ? {} : { planned }),
  };
  const { floorKwh, floorAsKnown } = movingFloor({ axis, plant, reserve, islandLoadKwh: loadKwh });
  const noticed = Math.floor(((hours ?? Number.POSITIVE_INFINITY) - noticeHours) / axis.stepHours);
  return { ...home, plant: { ...plant, floorKwh, floorAsKnown, startKwh: plant.capacityKwh }, noticed };
}

test.each([
  hold,
  selfConsumption,
  windowFill,
  peakShave(),
  peakShave({ targetKw: 2 }),
  followPrices(),
  rolling(),
  lookingAtFloors,
])('a planned outage changes no flow before its notice: $name', (strategy) => {
  let told = 0;
  fc.assert(
    fc.property(
      anyHome,
      fc.double({ min: 0.3, max: 0.95, noNaN: true }),
      fc.integer({ min: 1, max: 30 }),
      fc.boolean(),
      (base, share, noticeHours, gridCharging) => {
        const home = { ...base, plant: { ...base.plant, gridCharging } };
        const hours = Math.floor(home.axis.intervals * home.axis.stepHours * share);
        const planned = withOutage(home, hours, noticeHours);
        const before = Math.max(0, planned.noticed);
        const flows = runStrategy(strategy, planned).flows;
        const unplanned = runStrategy(strategy, withOutage(home, undefined, 1)).flows;
        for (const name of ['socKwh', 'chargeKwh', 'dischargeKwh', 'importKwh', 'exportKwh'] as const)
          expect(flows[name].subarray(0, before)).toEqual(unplanned[name].subarray(0, before));
        if (flows.socKwh.some((kwh, i) => kwh !== unplanned.socKwh[i])) told++;
      },
    ),
    { seed: 20260107, numRuns: strategy.name === 'rolling' ? 25 : 100 },
  );
  // Not for nothing: most outages change what is stored once they are known.
  if (strategy !== hold) expect(told).toBeGreaterThan(10);
});

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
