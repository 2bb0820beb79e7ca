import { bestInHindsight, type Home, rolling, runStrategy } from '@duskbank/core/dispatch';
import { billTotal } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { homeA, homeC, homeOn, statedPlant, statedTariff } from '../../support/data-homes.ts';
import { anyHome, seeded } from '../../support/homes.ts';

const sum = (values: Float64Array) => values.reduce((total, value) => total + value, 0);

describe('rolling', () => {
  test.each([1, 0.25])(
    'sees no future: another life after hour t changes no flow before t (every %s h)',
    (everyHours) => {
      for (const [number, home] of fc.sample(anyHome, { seed: 20260107, numRuns: 25 }).entries()) {
        const random = seeded(number);
        const t = Math.max(1, Math.floor(home.axis.intervals * (0.1 + 0.8 * random())));
        const change = (series: Float64Array, most: number) =>
          series.map((value, i) => (i < t ? value : random() * most * home.axis.stepHours));
        const plant =
          typeof home.plant.reach === 'number' ? home.plant : { ...home.plant, reach: change(home.plant.reach, 3) };
        const other: Home = { ...home, plant, loadKwh: change(home.loadKwh, 5), solarKwh: change(home.solarKwh, 5) };
        const before = runStrategy(rolling({ everyHours }), home).flows;
        const after = runStrategy(rolling({ everyHours }), other).flows;
        for (const name of ['socKwh', 'chargeKwh', 'dischargeKwh', 'importKwh', 'exportKwh'] as const)
          expect(after[name].subarray(0, t), `home ${number}, ${name}`).toEqual(before[name].subarray(0, t));
      }
    },
  );

  test('keeps the reserve floor, and never beats the bound', () => {
    for (const [number, home] of fc.sample(anyHome, { seed: 20260108, numRuns: 40 }).entries()) {
      const run = runStrategy(rolling(), home);
      const best = bestInHindsight(home);
      if (run.shortfallIntervals > 0) continue;
      if (sum(run.flows.unservedKwh) > sum(best.schedule.unservedKwh) + 1e-9) continue;
      expect(billTotal(home.tariff, run.flows), `home ${number}`).toBeGreaterThanOrEqual(
        best.boundTotal - 1e-7 * Math.max(1, Math.abs(best.boundTotal)),
      );
    }
  });

  test('with a solar forecast it says that it knows the future', () => {
    expect(rolling({ solarForecast: { error: 0.2, seed: 1 } }).knowledge).toBe('foresight');
    expect(rolling().knowledge).toBe('causal');
  });
});

/** Share of the bound's savings, against the home without a battery. */
function capturedShare(home: Home, strategy = rolling()): number {
  const idle = {
    importKwh: home.loadKwh.map((kwh, i) => Math.max(0, kwh - home.solarKwh[i]!)),
    exportKwh: home.loadKwh.map((kwh, i) => Math.max(0, home.solarKwh[i]! - kwh)),
  };
  const baseline = billTotal(home.tariff, idle);
  const run = runStrategy(strategy, home);
  return (baseline - billTotal(home.tariff, run.flows)) / (baseline - bestInHindsight(home).boundTotal);
}

const plainA = homeA();
describe.skipIf(plainA === undefined)(
  'on metered homes (open data, skipped where it is absent)',
  () => {
    test('window tariff, little or no solar: at least 97 %', () => {
      expect(capturedShare(homeOn(plainA!, statedTariff, statedPlant()))).toBeGreaterThanOrEqual(0.97);
      expect(capturedShare(homeOn(homeC()!, statedTariff, statedPlant()))).toBeGreaterThanOrEqual(0.97);
    });

    test('window tariff, much solar that sells for little: at least 87 % with 7.6 kWh and 90 % with 13.5 kWh', () => {
      expect(capturedShare(homeOn(homeA(4)!, statedTariff, statedPlant(7.6)))).toBeGreaterThanOrEqual(0.87);
      expect(capturedShare(homeOn(homeA(4)!, statedTariff, statedPlant(13.5)))).toBeGreaterThanOrEqual(0.9);
    });

    test('with a day-ahead solar forecast that is a fifth off: at least 95 %', () => {
      const strategy = rolling({ solarForecast: { error: 0.2, seed: 1 } });
      expect(capturedShare(homeOn(homeA(4)!, statedTariff, statedPlant(7.6)), strategy)).toBeGreaterThanOrEqual(0.95);
      expect(capturedShare(homeOn(homeA(4)!, statedTariff, statedPlant(13.5)), strategy)).toBeGreaterThanOrEqual(0.95);
    });

    test('hourly prices known a day ahead: at least 85 %', () => {
      const random = seeded(5);
      const home = homeOn(
        plainA!,
        (axis) => {
          const tariff = statedTariff(axis);
          let drift = 0;
          for (let i = 0; i < axis.intervals; i++) {
            const hour = axis.calendar.minuteOfDay[i]! / 60;
            if (axis.calendar.minuteOfDay[i]! % 60 !== 0) {
              tariff.importPricePerKwh[i] = tariff.importPricePerKwh[i - 1]!;
              tariff.exportPricePerKwh[i] = tariff.exportPricePerKwh[i - 1]!;
              continue;
            }
            drift = 0.9 * drift + 0.03 * (random() - 0.5);
            const humps = 0.05 * Math.exp(-(((hour - 8) / 2) ** 2)) + 0.12 * Math.exp(-(((hour - 19) / 2.5) ** 2));
            const spike = random() < 0.01 ? 0.3 * random() : 0;
            const market = Math.max(0.005, 0.06 + humps + drift + spike);
            tariff.importPricePerKwh[i] = market + 0.09;
            tariff.exportPricePerKwh[i] = market;
          }
          return { ...tariff, priceKnowledge: 'day-ahead' };
        },
        statedPlant(),
      );
      const share = capturedShare(home);
      expect(share).toBeGreaterThanOrEqual(0.85);
      expect(share).toBeLessThanOrEqual(1);
    });
  },
  120_000,
);
