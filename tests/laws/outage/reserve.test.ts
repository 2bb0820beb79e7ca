import {
  hold,
  optimalDispatch,
  peakShave,
  runStrategy,
  type Strategy,
  selfConsumption,
  windowFill,
} from '@duskbank/core/dispatch';
import { movingFloor } from '@duskbank/core/outage';
import type { Plant } from '@duskbank/core/plant';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';

const homes = fc
  .record({
    seed: fc.nat(),
    days: fc.integer({ min: 2, max: 14 }),
    stepMinutes: fc.constantFrom(15, 30, 60),
    solarKw: fc.constantFrom(0, 3, 8),
    capacityKwh: fc.double({ min: 1, max: 20, noNaN: true }),
    chargeLimitKw: fc.double({ min: 0.5, max: 6, noNaN: true }),
    dischargeLimitKw: fc.double({ min: 0.5, max: 6, noNaN: true }),
    standbyW: fc.constantFrom(0, 50),
    gridCharging: fc.boolean(),
  })
  .map(({ seed, days, stepMinutes, solarKw, ...plant }) =>
    seededHome(
      seed,
      { days, stepMinutes, startEpochMs: Date.UTC(2026, 2, 5, 7), zone: 'America/Denver', solarKw },
      plainPlant({ ...plant, inverterKw: 20 }),
      openService,
    ),
  );

type Home = ReturnType<typeof seededHome>;

/** What the home pays for energy under the cheapest schedule that keeps the floor. */
function leastCost(home: Home, floorKwh: number, initialKwh: number): number {
  const { axis, plant, tariff } = home;
  const standbyKwh = (plant.standbyW / 1000) * axis.stepHours;
  return optimalDispatch({
    stepHours: axis.stepHours,
    netLoadKwh: home.loadKwh.map((kwh, i) => kwh + standbyKwh - home.solarKwh[i]!),
    importPricePerKwh: tariff.importPricePerKwh,
    exportPricePerKwh: tariff.exportPricePerKwh,
    capacityKwh: plant.capacityKwh,
    floorKwh,
    chargeLimitKw: plant.chargeLimitKw,
    dischargeLimitKw: plant.dischargeLimitKw,
    initialKwh,
    chargeEfficiency: plant.chargeEfficiency,
    dischargeEfficiency: plant.dischargeEfficiency,
    gridCharging: plant.gridCharging,
    batteryExport: plant.batteryExport,
  }).cost;
}

function costOf(home: Home, flows: { importKwh: Float64Array; exportKwh: Float64Array }): number {
  const { importPricePerKwh, exportPricePerKwh } = home.tariff;
  let cost = 0;
  for (let i = 0; i < flows.importKwh.length; i++)
    cost += flows.importKwh[i]! * importPricePerKwh[i]! - flows.exportKwh[i]! * exportPricePerKwh[i]!;
  return cost;
}

const strategies: Strategy[] = [selfConsumption, windowFill, peakShave(), hold];

describe('reserve and savings', () => {
  test('no strategy that keeps at least r all year costs less than the optimum with floor r', () => {
    fc.assert(
      fc.property(homes, fc.double({ min: 0, max: 1, noNaN: true }), (home, share) => {
        const floorKwh = share * home.plant.capacityKwh;
        const plant: Plant = { ...home.plant, floorKwh, startKwh: floorKwh };
        for (const strategy of strategies) {
          const { flows } = runStrategy(strategy, { ...home, plant });
          const kept = flows.socKwh.reduce((least, soc) => Math.min(least, soc), plant.startKwh);
          // 1e-6 money: sums of up to 1,300 terms in another order.
          expect(costOf(home, flows)).toBeGreaterThanOrEqual(leastCost(home, kept, plant.startKwh) - 1e-6);
        }
      }),
      { numRuns: 60, seed: 20260110 },
    );
  });

  test('a higher floor never raises the optimum’s savings', () => {
    fc.assert(
      fc.property(
        homes,
        fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 2, maxLength: 5 }),
        (home, shares) => {
          const floors = [...shares].sort((a, b) => a - b).map((share) => share * home.plant.capacityKwh);
          // Each starts at its own floor and ends free above it, leftover worth nothing.
          const costs = floors.map((floorKwh) => leastCost(home, floorKwh, floorKwh));
          for (let j = 1; j < costs.length; j++) expect(costs[j]!).toBeGreaterThanOrEqual(costs[j - 1]! - 1e-6);
        },
      ),
      { numRuns: 100, seed: 20260111 },
    );
  });

  test('under a floor reckoned from the past, changing the data after t changes no decision before t', () => {
    fc.assert(
      fc.property(
        homes,
        fc.double({ min: 0.2, max: 0.9, noNaN: true }),
        fc.integer({ min: 1, max: 30 }),
        (home, cut, hours) => {
          const t = Math.floor(home.axis.intervals * cut);
          const runs = (loadKwh: Float64Array) => {
            const { floorKwh } = movingFloor({
              axis: home.axis,
              plant: home.plant,
              reserve: { keepHours: hours },
              islandLoadKwh: loadKwh,
            });
            const plant = { ...home.plant, floorKwh, floorFromPast: true, startKwh: floorKwh[0]! };
            return strategies.map((strategy) => runStrategy(strategy, { ...home, loadKwh, plant }).flows.socKwh);
          };
          const before = runs(home.loadKwh);
          const after = runs(home.loadKwh.map((kwh, i) => (i < t ? kwh : 3 * kwh + 0.1)));
          for (const [s, soc] of before.entries())
            expect(after[s]!.subarray(0, t), strategies[s]!.name).toEqual(soc.subarray(0, t));
        },
      ),
      { numRuns: 60, seed: 20260112 },
    );
  });
});
