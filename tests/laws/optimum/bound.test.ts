import {
  bestInHindsight,
  type Home,
  hold,
  optimum,
  peakShave,
  runStrategy,
  type Strategy,
  selfConsumption,
  windowFill,
} from '@duskbank/core/dispatch';
import type { Flows } from '@duskbank/core/plant';
import { billTotal, compileTariff } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { billedFlows } from '../../../packages/core/src/dispatch/billed.ts';
import { anyHome, erratic, openService, plainPlant, windowTariff } from '../../support/homes.ts';
import { randomFlows, tariffFixtures } from '../../support/tariff-fixtures.ts';

const STRATEGIES: Strategy[] = [hold, selfConsumption, windowFill, peakShave(), peakShave({ targetKw: 2 })];

/** What the best found is held against where a bill bends. */
const RULES: Strategy[] = STRATEGIES.slice(1, 4);

const sum = (values: Float64Array) => values.reduce((total, value) => total + value, 0);

function bill(home: Home, flows: Flows): number {
  return billTotal(home.tariff, billedFlows(home, flows));
}

test('no strategy beats the bound, and the best schedule through the plant has the bill that it promised', () => {
  let compared = 0;
  // Sampled, not shrunk: a home is megabytes, and its number says which it was.
  for (const [number, home] of fc.sample(anyHome, { seed: 20260106, numRuns: 300 }).entries()) {
    const best = bestInHindsight(home);
    expect(best.boundTotal, `home ${number}`).toBeLessThanOrEqual(
      best.billTotal + 1e-9 * Math.max(1, Math.abs(best.billTotal)),
    );
    const replayed = runStrategy(optimum(best), home);
    // Under a service limit the plant serves load now, and would let a floor that rises later wait.
    const waits = typeof home.plant.floorKwh !== 'number' && sum(best.schedule.unservedKwh) > 0;
    // 1e-7: levels are executed to 1e-9 kWh an interval
    if (!waits)
      expect(Math.abs(bill(home, replayed.flows) - best.billTotal), `home ${number}`).toBeLessThanOrEqual(
        1e-7 * Math.max(1, Math.abs(best.billTotal)),
      );
    const unserved = sum(replayed.flows.unservedKwh);
    for (const strategy of STRATEGIES) {
      const run = runStrategy(strategy, home);
      // The bound is for runs that keep the floor, and load left unserved is no saving.
      if (run.shortfallIntervals > 0) continue;
      if (sum(run.flows.unservedKwh) > unserved + 1e-9) continue;
      compared++;
      expect(bill(home, run.flows), `home ${number}, ${strategy.name}`).toBeGreaterThanOrEqual(
        best.boundTotal - 1e-7 * Math.max(1, Math.abs(best.boundTotal)),
      );
      // What a rule can do, the best found does.
      if (RULES.includes(strategy) && sum(run.flows.unservedKwh) === 0)
        expect(bill(home, run.flows), `home ${number}, ${strategy.name}`).toBeGreaterThanOrEqual(
          best.billTotal - 1e-6 * Math.max(1, Math.abs(best.billTotal)),
        );
    }
  }
  expect(compared).toBeGreaterThan(700);
});

test('nothing beats the bound where prices fall below 0 and the draw of converting is paid for', () => {
  let compared = 0;
  let below = 0;
  for (const [number, drawn] of fc.sample(anyHome, { seed: 20260107, numRuns: 150 }).entries()) {
    const { axis } = drawn;
    const prices = [
      { cheap: -0.4, middle: 0.02, peak: 0.1, sale: 0 },
      { cheap: -0.1, middle: 0.1, peak: 0.2, sale: -0.2 },
      { cheap: 0.1, sale: -0.05 },
    ][number % 3]!;
    const home: Home = {
      ...drawn,
      plant: { ...drawn.plant, conversionW: [60, 400, 1500][(number % 7) % 3]! },
      tariff: windowTariff(axis, prices),
    };
    const best = bestInHindsight(home);
    const left = sum(runStrategy(optimum(best), home).flows.unservedKwh);
    const without = bestInHindsight({ ...home, plant: { ...home.plant, conversionW: 0 } });
    for (const strategy of [...STRATEGIES, optimum(best), optimum(without), erratic(number), erratic(number + 1000)]) {
      const run = runStrategy(strategy, home);
      if (run.shortfallIntervals > 0 || sum(run.flows.unservedKwh) > left + 1e-9) continue;
      compared++;
      const paid = bill(home, run.flows);
      if (paid < without.boundTotal - 1e-6) below++;
      expect(paid, `home ${number}, ${strategy.name}`).toBeGreaterThanOrEqual(
        best.boundTotal - 1e-7 * Math.max(1, Math.abs(best.boundTotal)),
      );
    }
  }
  expect(compared).toBeGreaterThan(500);
  // Here the bound without what the draw earns would have been beaten.
  expect(below).toBeGreaterThan(5);
});

describe('on every tariff of the fixtures', () => {
  const cases = tariffFixtures().flatMap((fixture) => [0, 200].map((conversionW) => ({ ...fixture, conversionW })));
  test.each(cases)('$name, $conversionW W: bound ≤ best found ≤ what a rule can do', (fixture) => {
    const { tariff, axis, options, conversionW } = fixture;
    const { importKwh, exportKwh } = randomFlows(7, axis.intervals, axis.stepMinutes);
    const home: Home = {
      axis,
      loadKwh: importKwh,
      solarKwh: exportKwh,
      tariff: compileTariff(tariff, axis, options),
      plant: plainPlant({ batteryExport: true, conversionW }),
      service: openService,
    };
    const best = bestInHindsight(home);
    const scale = Math.max(1, Math.abs(best.billTotal));
    expect(best.boundTotal).toBeLessThanOrEqual(best.billTotal + 1e-9 * scale);
    expect(Math.abs(bill(home, runStrategy(optimum(best), home).flows) - best.billTotal)).toBeLessThanOrEqual(
      1e-7 * scale,
    );
    for (const strategy of STRATEGIES)
      expect(bill(home, runStrategy(strategy, home).flows), strategy.name).toBeGreaterThanOrEqual(
        (RULES.includes(strategy) ? best.billTotal - 1e-6 * scale : best.boundTotal) - 1e-7 * scale,
      );
  });
});
