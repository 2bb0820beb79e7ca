import { makeAxis } from '@duskbank/core/axis';
import { bestInHindsight, type Home, hold, homeOnAxis, optimum, runStrategy } from '@duskbank/core/dispatch';
import type { Plant } from '@duskbank/core/plant';
import { billTotal, type CompiledTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import { mostEarnedByDraw } from '../../../packages/core/src/dispatch/optimum/converting.ts';
import { openService, windowTariff } from '../../support/homes.ts';
import { plainPlant } from '../../support/homes-plain.ts';

const FULL = Number.POSITIVE_INFINITY;

/** A home of some steps of an hour, lossless, its inverter drawing 0.1 kW while it converts. */
function homeOf(
  loadKwh: number[],
  price: number[],
  plant: Partial<Plant> = {},
  tariff: Partial<CompiledTariff> = {},
): Home {
  const intervals = loadKwh.length;
  const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals, zone: 'Etc/UTC' });
  return {
    axis,
    loadKwh: Float64Array.from(loadKwh),
    solarKwh: new Float64Array(intervals),
    tariff: {
      ...windowTariff(axis),
      importPricePerKwh: Float64Array.from(price),
      exportPricePerKwh: new Float64Array(intervals),
      ...tariff,
    },
    plant: plainPlant({
      capacityKwh: 2,
      chargeLimitKw: 5,
      dischargeLimitKw: 5,
      chargeEfficiency: 1,
      dischargeEfficiency: 1,
      solarChargeEfficiency: 1,
      conversionW: 100,
      ...plant,
    }),
    service: openService,
  };
}

describe('the best in hindsight, where converting draws', () => {
  test('pays for the draw: bound without it, schedule with it, and the gap between them', () => {
    // Without: 1 kWh bought at 0.1 in place of 0.5. With: 1.1 kWh stored, 1.2 bought.
    const best = bestInHindsight(homeOf([0, 1], [0.1, 0.5]));
    expect(best.proof).toBe('gap');
    expect(best.boundTotal).toBeCloseTo(0.1, 12);
    expect(best.billTotal).toBeCloseTo(0.12, 12);
    expect(Array.from(best.schedule.socKwh, (kwh) => kwh.toFixed(9))).toEqual(['1.100000000', '0.000000000']);
  });

  test('leaves the battery alone where the draw costs more than it brings', () => {
    // Storing 0.3 kWh for the second hour would save 0.2 · 0.1 = 0.02, and draw 0.1 · 0.2 + 0.1 · 0.3 = 0.05.
    const best = bestInHindsight(homeOf([0, 0.2], [0.2, 0.3]));
    expect(best.billTotal).toBeCloseTo(0.06, 12);
    expect([...best.schedule.chargeKwh, ...best.schedule.dischargeKwh]).toEqual([0, 0, 0, 0]);
  });

  test('leaves it alone for two months where every rule would store: sold sun brings nearly what load costs', () => {
    const hours = 1400;
    const home = homeOf(
      Array.from({ length: hours }, (_, i) => (i % 2 === 0 ? 0 : 0.3)),
      Array.from({ length: hours }, () => 0.22),
      {},
      { exportPricePerKwh: new Float64Array(hours).fill(0.2) },
    );
    const sunny = { ...home, solarKwh: home.loadKwh.map((kwh) => 0.3 - kwh) };
    expect(bestInHindsight(sunny).billTotal).toBeCloseTo((hours / 2) * 0.3 * (0.22 - 0.2), 9);
  });

  test('plans with the draw: what is stored is enough for it, and no step is begun that needn’t be', () => {
    // Stored as early as may be, so that one step charges: 2 · 1 + 2 · 0.1, and 0.1 while it is stored.
    const home = homeOf([0, 0, 0, 1, 0.8], [0.1, 0.1, 0.1, 0.5, 0.5]);
    const best = bestInHindsight(home);
    expect(best.billTotal).toBeCloseTo(0.1 * (1.8 + 0.2 + 0.1), 12);
    const replayed = runStrategy(optimum(best), home);
    expect(billTotal(home.tariff, replayed.flows)).toBeCloseTo(best.billTotal, 12);
  });

  test('is bounded under what a draw earns that is paid for: at a price below 0, 1 kWh and 0.1 are taken', () => {
    const home = homeOf([0], [-1], { capacityKwh: 1 });
    const best = bestInHindsight(home);
    expect(billTotal(home.tariff, runStrategy(hold, home).flows)).toBeCloseTo(-1.1, 12);
    expect(best.billTotal).toBeCloseTo(-1.1, 12);
    expect(best.boundTotal).toBeCloseTo(-1.1, 12);
  });

  test('and under what it earns by the room that it makes', () => {
    // The first hour costs nothing: giving 1 kWh takes 1.1 out, so that the second takes 1.1 in, and draws 0.1.
    const home = homeOf([1, 0], [0, -1], { startKwh: 2 });
    const best = bestInHindsight(home);
    expect(best.billTotal).toBeCloseTo(-1.2, 12);
    expect(best.boundTotal).toBeLessThanOrEqual(best.billTotal + 1e-12);
    expect(best.boundTotal).toBeCloseTo(-1.2, 12);
  });

  test('a home whose limit leaves load unserved: more of it with the draw, and the bound stays money', () => {
    // 1 kWh of load an hour, 0.5 let in, 0.6 stored: the draw leaves 0.1 kWh more without.
    const home = homeOf([1, 1], [0.2, 0.2], { startKwh: 0.6, gridCharging: false });
    const limited = { ...home, service: { ...openService, importLimitKw: 0.5 } };
    const best = bestInHindsight(limited);
    expect(best.schedule.unservedKwh.reduce((a, b) => a + b)).toBeCloseTo(0.5, 9);
    expect(best.billTotal).toBeCloseTo(0.2, 9);
    expect(best.boundTotal).toBeLessThanOrEqual(best.billTotal);
    expect(best.boundTotal).toBeGreaterThan(-1);
  });

  test('under buy-all too the schedule is one that the loop runs', () => {
    const home = homeOf([0, 1], [0.1, 0.5], {}, { metering: 'gross' });
    const best = bestInHindsight(home);
    expect(best.boundTotal).toBeLessThanOrEqual(best.billTotal);
    const { flows } = runStrategy(optimum(best), home);
    expect(flows.socKwh).toEqual(best.schedule.socKwh);
    expect(flows.importKwh).toEqual(best.flows.importKwh);
  });
});

describe('what the draw may earn at the most', () => {
  /** Two hours at 0.1 a kWh and a term on some of them; 0.1 kWh is drawn in each. */
  const earned = (term?: object, exportPrice = 0) => {
    const home = homeOf([0, 1], [0.1, 0.1]);
    const common = { name: 'term', group: Int32Array.of(0, -1), groups: 1, period: Int32Array.of(0), convex: false };
    const terms = term === undefined ? [] : [{ ...common, ...term }];
    const exportPricePerKwh = new Float64Array(2).fill(exportPrice);
    return mostEarnedByDraw(homeOnAxis(home), {
      ...home.tariff,
      exportPricePerKwh,
      terms: terms as unknown as CompiledTariff['terms'],
    });
  };

  test('is nothing where prices are none below 0', () => {
    expect(earned()).toBe(0);
  });

  test('where a later hour pays for import, is that of its draw and of the room made for it', () => {
    // The second hour draws 0.1 kWh at 0.2; in the first 0.1 is taken out, for which 0.1 ÷ 0.64 is bought.
    const home = homeOf([1, 0], [0.1, -0.2], { chargeEfficiency: 0.8, dischargeEfficiency: 0.8 });
    expect(mostEarnedByDraw(homeOnAxis(home), home.tariff)).toBeCloseTo(0.2 * (0.1 + 0.1 / 0.64), 12);
    // No more is bought in the second than 0.02 kWh.
    const weak = homeOf([1, 0], [0.1, -0.2], { chargeLimitKw: 0.02 });
    expect(mostEarnedByDraw(homeOnAxis(weak), weak.tariff)).toBeCloseTo(0.2 * (0.1 + 0.02), 12);
  });

  test('where selling costs, is that: drawn in either hour', () => {
    expect(earned(undefined, -0.2)).toBeCloseTo(0.2 * 0.2, 12);
  });

  const each = (...values: number[]) => Float64Array.of(...values);
  const terms: [string, object, number][] = [
    // At 0.1 − 0.25 a kWh, in the first hour only.
    [
      'a block cheaper than nothing',
      { kind: 'tier', flow: 'import', upToKwh: [each(1, FULL)], adderPerKwh: [each(0, -0.25)] },
      0.015,
    ],
    [
      'a block that only gets cheaper',
      { kind: 'tier', flow: 'import', upToKwh: [each(1, FULL)], adderPerKwh: [each(0, -0.05)] },
      0,
    ],
    [
      'an export block that costs',
      { kind: 'tier', flow: 'export', upToKwh: [each(1, FULL)], adderPerKwh: [each(0, -0.3)] },
      0.03,
    ],
    // Usual use is that of the first hour, so that a kWh more there earns 0.55 and costs 0.1.
    [
      'a rebate on less than usual',
      {
        kind: 'rebate',
        group: Int32Array.of(-1, 0),
        pricePerKwh: each(0.55),
        baselineKwh: each(0),
        references: [Int32Array.of(0, 1)],
      },
      0.045,
    ],
    [
      'surplus of netted energy that costs',
      {
        kind: 'netting',
        pricePerKwh: each(0.1),
        next: Int32Array.of(-1),
        surplusPerKwh: each(-0.2),
        carriedInKwh: each(0),
      },
      0.02,
    ],
    [
      'surplus of netted energy that is worth nothing',
      {
        kind: 'netting',
        pricePerKwh: each(0.1),
        next: Int32Array.of(-1),
        surplusPerKwh: each(0),
        carriedInKwh: each(0),
      },
      0,
    ],
  ];
  test.each(terms)('counts %s', (_name, term, expected) => {
    expect(earned(term, 'surplusPerKwh' in term ? 0.3 : 0)).toBeCloseTo(expected, 12);
  });
});
