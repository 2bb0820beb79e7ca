import { hold, optimum, peakShave, selfConsumption, windowFill } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { compare, outage } from '@duskbank/core/study';
import { describe, expect, it } from 'vitest';
import { compareText } from '../../../packages/cli/src/render/compare.ts';
import { outageText } from '../../../packages/cli/src/render/outage.ts';
import { erratic } from '../../support/homes.ts';
import { type Hour, hoursOf, smallSite } from '../panel/small-site.ts';

const WINDOWS = [
  { name: 'dear', from: '18:00', to: '22:00', pricePerKwh: 0.5 },
  { name: 'cheap', otherwise: true, pricePerKwh: 0.1 },
];
const load = async (site: ReturnType<typeof smallSite>) => (await loadSite(site.path, site.read)).study;
const flat = (text: string) => text.replaceAll(/\s+/g, ' ');

describe('a share of the best possible', () => {
  /** Hours kept of a load that is five times as high on every third day, with no grid to charge from: floors that nobody sees come. */
  const keeping = () =>
    smallSite(
      hoursOf(24, (h, day): Hour => [day % 3 === 2 ? 1 : 0.2, h >= 9 && h < 15 ? 1.2 : 0]),
      { windows: WINDOWS, export: { kind: 'net-billing', pricePerKwh: 0.05 } },
      { gridCharging: false },
      {},
      { backup: { reserve: { keepHours: 4 } } },
    );

  it('is of runs that keep as much of the reserve floor, and the most is no sum of another home', async () => {
    const report = compare(await load(keeping()), { strategies: [hold, selfConsumption, optimum()] });
    const missed = new Map(
      report.warnings
        .filter(({ code }) => code === 'floor-shortfall')
        .map(({ data, message }) => [data.strategy, { data, message }]),
    );
    const row = (name: string) => report.strategies.find(({ strategy }) => strategy === name)!;
    // What is spent of the reserve saves more than the best that keeps it.
    expect(missed.get('self-consumption')!.data.intervals).toBeGreaterThan(
      Number(missed.get('optimum')?.data.intervals ?? 0),
    );
    expect(row('self-consumption').batterySavings!).toBeGreaterThan(row('optimum').batterySavings! + 0.1);
    expect(row('self-consumption').capturedShare).toBeNull();
    expect(missed.get('self-consumption')!.message).toContain('no share of that is given');
    expect(row('optimum').capturedShare).toBe(1);
    expect(report.bound!.savings).toBeCloseTo(row('optimum').batterySavings!, 9);
    expect(flat(compareText(report))).toContain(`share of USD ${report.bound!.savings!.toFixed(2)} in 24 days`);
  });

  it('is of lines as they are printed: what is said to be possible is what the best row saves, to the cent', async () => {
    let gaps = 0;
    let exact = 0;
    for (const shape of [
      { windows: WINDOWS },
      { energy: [{ name: 'Supply', blocks: [{ upToKwh: 300, pricePerKwh: 0.4 }, { pricePerKwh: 0.1 }] }] },
      { windows: WINDOWS, export: { kind: 'net-metering', within: 'window', carry: 'none', surplusPerKwh: 0.02 } },
      {
        windows: WINDOWS,
        export: { kind: 'net-metering', within: 'window', carry: 'kwh' },
        minimumBill: { amount: 40 },
      },
    ])
      for (const often of [3, 5, 7, 9, 11, 13]) {
        const site = smallSite(
          hoursOf(
            62,
            (h, day): Hour => [0.413 + ((h + day) % often) * 0.137, h >= 9 && h < 15 ? 1.71 + (day % 4) * 0.31 : 0],
          ),
          { export: { kind: 'net-billing', pricePerKwh: 0.05 }, ...shape },
        );
        const report = compare(await load(site));
        const { bound, strategies: rows } = report;
        if (bound!.proof === 'exact') exact++;
        else gaps++;
        const best = rows.find(({ strategy }) => strategy === 'optimum')!;
        for (const row of rows)
          if (row.capturedShareOfFound !== null)
            expect(row.bill.total, `${row.strategy}, ${often}`).toBeGreaterThanOrEqual(best.bill.total);
        const said = /Of best: share of USD ([\d.]+)/.exec(flat(compareText(report)))?.[1];
        if (said !== undefined) expect(said).toBe(best.batterySavings!.toFixed(2));
      }
    expect(gaps).toBeGreaterThan(3);
    expect(exact).toBeGreaterThan(3);
  });

  it('is a range where the proof is a gap, and no row stands above the best found', async () => {
    // 557 kWh are bought in January by who spends the sun and loses nothing; a credit falls on 520 and more. The search in
    // hindsight doesn't find what those have that waste enough to come by it, and no rule that it tries does.
    const site = smallSite(
      hoursOf(62, (h): Hour => [0.999, h >= 9 && h < 15 ? 2.997 : 0]),
      {
        windows: WINDOWS,
        export: { kind: 'net-billing', pricePerKwh: 0.05 },
        usageCredits: [{ name: 'Use', amount: 90, leastKwh: 520 }],
      },
      { battery: { units: 1, usableKwh: 4, chargeKw: 2, dischargeKw: 2, roundTripEfficiency: 0.6, standbyW: 0 } },
    );
    const report = compare(await load(site), {
      strategies: [
        hold,
        selfConsumption,
        windowFill,
        peakShave({ targetKw: 0.9 }),
        ...[3, 5, 8].map((seed) => ({ ...erratic(seed), name: `erratic-${seed}` })),
        optimum(),
      ],
    });
    const { bound, strategies: rows } = report;
    expect(bound!.proof).toBe('gap');
    const best = rows.find(({ strategy }) => strategy === 'optimum')!;
    const found = rows.find(({ strategy }) => strategy === bound!.found.strategy)!;
    expect(best.bill.total).toBe(Math.min(...rows.map(({ bill }) => bill.total)));
    expect(found.bill.total).toBe(best.bill.total);
    expect(bound!.found.savings).toBeCloseTo(best.batterySavings!, 9);
    expect(bound!.gap).toBeCloseTo(bound!.found.billTotal - bound!.billTotal, 9);
    expect(best.capturedShareOfFound).toBe(1);
    for (const row of rows) {
      expect(row.capturedShareOfFound!, row.strategy).toBeLessThanOrEqual(1);
      if (row.batterySavings! > 0) expect(row.capturedShare!).toBeLessThanOrEqual(row.capturedShareOfFound!);
    }
    const share = Math.round(100 * best.capturedShare!);
    expect(share).toBeLessThan(100);
    expect(flat(compareText(report))).toContain(`${share}–100 %`);
    expect(flat(compareText(report))).toContain(`the most that was found is USD ${best.batterySavings!.toFixed(2)}`);
  });

  it('the frontier has the same most at the home’s own reserve', async () => {
    const site = smallSite(
      hoursOf(24, (h): Hour => [h >= 17 && h < 22 ? 1.237 : 0.4, h === 12 ? 2 : 0]),
      { windows: WINDOWS, export: { kind: 'net-billing', pricePerKwh: 0.05 } },
      { floor: { share: 0.2 } },
      {},
      { backup: { circuits: [{ name: 'Lights', watts: 100, leg: 'L1', priority: 1 }] } },
    );
    const study = await load(site);
    const strategies = [hold, selfConsumption, optimum()];
    const report = compare(study, { strategies });
    const own = outage(study, { strategies, floors: [] }).frontier[0]!;
    expect(own.floorShare).toBeCloseTo(0.2, 12);
    expect(own.boundSavingsPerYear).toBeCloseTo(report.bound!.savings! * report.axis.perYear, 9);
    for (const { strategy, savingsPerYear } of own.strategies)
      expect(savingsPerYear, strategy).toBeCloseTo(
        report.strategies.find((row) => row.strategy === strategy)!.batterySavings! * report.axis.perYear,
        9,
      );
  });

  it('the frontier marks a row that keeps less of the floor than the best does', async () => {
    // No grid to charge from, and sun on every third day alone: a full battery at the planned outages has to be kept from days before.
    const site = smallSite(
      hoursOf(24, (h, day): Hour => [h >= 17 && h < 22 ? 1.2 : 0.2, day % 3 === 0 && h >= 9 && h < 15 ? 1.5 : 0]),
      { windows: WINDOWS, export: { kind: 'net-billing', pricePerKwh: 0.05 } },
      { gridCharging: false },
      {},
      {
        backup: {
          circuits: [{ name: 'Lights', watts: 100, leg: 'L1', priority: 1 }],
          reserve: {
            planned: ['04', '07', '10', '13', '16', '19', '22'].map((date) => ({
              from: `2025-01-${date}T08:00`,
              to: `2025-01-${date}T09:00`,
              noticeHours: 2,
            })),
          },
        },
      },
    );
    const strategies = [hold, selfConsumption, optimum()];
    const report = outage(await load(site), { strategies, floors: [0.2, 0.5], headline: 'self-consumption' });
    const rows = report.frontier.flatMap((point) =>
      point.strategies.map((row) => ({ ...row, over: row.savingsPerYear! - point.boundSavingsPerYear! })),
    );
    const above = rows.filter(({ over }) => over > 1e-6);
    expect(above.length).toBeGreaterThan(0);
    expect(above.every(({ keepsFloor }) => !keepsFloor)).toBe(true);
    expect(rows.filter(({ strategy }) => strategy === 'optimum').every(({ keepsFloor }) => keepsFloor)).toBe(true);
    expect(flat(outageText(report, true))).toContain('† Holds back less than that at times');
  });

  it('where even the best costs something, it says so', async () => {
    // One price: a round trip costs a tenth, and standby 30 W.
    const site = smallSite(
      hoursOf(20, () => [1, 0]),
      { windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.2 }] },
      { battery: { units: 1, usableKwh: 4, chargeKw: 2, dischargeKw: 2, roundTripEfficiency: 0.9, standbyW: 30 } },
    );
    const report = compare(await load(site), { strategies: [hold, optimum()] });
    // 480 h · 0.03 kW · 0.2
    expect(report.bound!.savings).toBeCloseTo(-2.88, 9);
    const text = flat(compareText(report));
    expect(text).toContain('this battery costs at least USD 2.88 more in 20 days than none (exact');
    expect(text).not.toContain('share of USD');
  });

  it('a medical circuit: a run of the frontier pays for the energy that it starts with', async () => {
    const site = smallSite(
      hoursOf(20, (h) => [h >= 18 ? 1.5 : 0.5, 0]),
      { windows: WINDOWS },
      { floor: { share: 0.2 } },
      {},
      { backup: { circuits: [{ name: 'Breathing machine', watts: 60, leg: 'L1', priority: 1, medical: true }] } },
    );
    const study = await load(site);
    const report = compare(study, { strategies: [hold, optimum()] });
    expect(report.strategies[0]!.bill.startEnergy).toBeGreaterThan(0);
    const [own] = outage(study, { strategies: [hold, optimum()] }).frontier;
    expect(own!.strategies[0]!.savingsPerYear).toBeCloseTo(
      report.strategies[0]!.batterySavings! * report.axis.perYear,
      9,
    );
  });
});
