import { InputError } from '@duskbank/core/input';
import { compare, type StrategyResult, standardStrategies, wearStrategies } from '@duskbank/core/study';
import { billTotal } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { seeded } from '../../support/homes.ts';
import { DAYS, twoPriceHome } from '../../support/two-price-home.ts';

/** Cycle life at which a kWh delivered wears off `perKwh`: 5,000 over 8 kWh that come out at √0.85. */
const lifeFor = (perKwh: number) => 5000 / (perKwh * 8 * Math.sqrt(0.85));

const studyOf = (evening: (day: number) => number, perKwh: number) =>
  twoPriceHome({ evening, economics: { cycleLife: lifeFor(perKwh) } });

/** Rows by name; `unrounded` are their bills, start energy included, before a tariff rounds them. */
function rowsOf(study: ReturnType<typeof studyOf>): Map<string, StrategyResult & { unrounded: number }> {
  const totals = new Map<string, number>();
  const report = compare(study, {
    strategies: [...standardStrategies(study), ...wearStrategies(study, true)],
    onRun: ({ strategy, flows }) => totals.set(strategy, billTotal(study.home.tariff, flows)),
  });
  return new Map(
    report.strategies.map((row) => [
      row.strategy,
      { ...row, unrounded: totals.get(row.strategy)! + row.bill.startEnergy },
    ]),
  );
}

describe('counting wear', () => {
  // A kWh delivered at 0.45 was bought as 1 ÷ 0.85 kWh at 0.15: it earns 0.45 − 0.17647 = 0.27353.
  const EARNED = 0.45 - 0.15 / 0.85;

  test('no cycle is made that earns less than it wears off, every one that earns more', () => {
    const evening = () => 1.5;
    const worn = rowsOf(studyOf(evening, EARNED + 0.001));
    const worth = rowsOf(studyOf(evening, EARNED - 0.001));
    const counting = [...worn.values()].filter((row) => row.countsWear).map((row) => row.strategy);
    expect(counting).toEqual(['optimum-wear', 'rolling-wear']);
    for (const name of ['optimum-wear', 'rolling-wear']) {
      expect(worn.get(name)!.dischargedKwh, name).toBe(0);
      expect(worn.get(name)!.chargedKwh, name).toBe(0);
      // Six kWh an evening; `rolling` learns that in the first days.
      expect(worth.get(name)!.dischargedKwh, name).toBeGreaterThan(6 * (DAYS - 4));
    }
    expect(worth.get('optimum-wear')!.dischargedKwh).toBeCloseTo(6 * DAYS, 6);
    // Those that don't count it go on.
    expect(worn.get('optimum')!.dischargedKwh).toBeCloseTo(6 * DAYS, 6);
  });

  test('over random homes bill and wear together are least where wear is counted, the bill where it is not', () => {
    let both = 0;
    let between = 0;
    fc.assert(
      fc.property(fc.nat(), fc.double({ min: 0.01, max: 0.4, noNaN: true }), (seed, perKwh) => {
        const random = seeded(seed);
        const loads = Array.from({ length: DAYS }, () => (random() < 0.2 ? 0 : 3 * random()));
        const study = twoPriceHome({
          evening: (day) => loads[day]!,
          plant: { floor: { share: random() < 0.5 ? 0 : 0.3 }, startShare: 0.5 + 0.5 * random() },
          economics: { cycleLife: lifeFor(perKwh) },
        });
        const rows = rowsOf(study);
        const blind = rows.get('optimum')!;
        const aware = rows.get('optimum-wear')!;
        const all = (row: StrategyResult & { unrounded: number }) => row.unrounded + row.wear!.cost;
        // 1e-6: sums of some thousand amounts
        expect(all(aware)).toBeLessThanOrEqual(all(blind) + 1e-6);
        expect(blind.unrounded).toBeLessThanOrEqual(aware.unrounded + 1e-6);
        expect(aware.dischargedKwh).toBeLessThanOrEqual(blind.dischargedKwh + 1e-6);
        for (const row of rows.values()) if (row.wear !== null) expect(all(aware)).toBeLessThanOrEqual(all(row) + 1e-6);
        if (all(aware) < all(blind) - 0.01) both++;
        if (aware.dischargedKwh > 0.01) between++;
      }),
      { numRuns: 40, seed: 12 },
    );
    // Neither side of the law is idle.
    expect(both).toBeGreaterThan(5);
    expect(between).toBeGreaterThan(5);
  });

  test('a row’s wear is its full cycles at what a cycle wears off, beside the bill and not in it', () => {
    const study = studyOf(() => 1.5, 0.1);
    const report = compare(study);
    const plain = compare(twoPriceHome({ evening: () => 1.5 }));
    expect(report.wear!.perKwh).toBeCloseTo(0.1, 12);
    for (const [k, row] of report.strategies.entries()) {
      expect(row.bill).toEqual(plain.strategies[k]!.bill);
      if (row.strategy === 'none') expect(row.wear).toBeNull();
      else {
        expect(row.wear!.cost).toBeCloseTo(row.equivalentFullCycles * report.wear!.perCycle, 9);
        expect(row.wear!.savingsAfter).toBe(row.batterySavings! - row.wear!.cost);
      }
    }
    expect(report.headline).toEqual(plain.headline);
    expect(plain.wear).toBeNull();
    expect(plain.strategies.every((row) => row.wear === null)).toBe(true);
  });

  test.each([
    [{}, 'missing', 'economics.cycleLife'],
    [{ cycleLife: 6000, rebate: 5000 }, 'out-of-range', 'economics.rebate'],
  ])('what it is reckoned from must be there: %j', (economics, code, path) => {
    const study = twoPriceHome({ evening: () => 1, economics });
    let fault: unknown;
    try {
      wearStrategies(study, false);
    } catch (error) {
      fault = error;
    }
    expect(fault).toBeInstanceOf(InputError);
    const [issue] = (fault as InputError).issues;
    expect({ code: issue!.code, path: issue!.where.path!.join('.') }).toEqual({ code, path });
  });
});
