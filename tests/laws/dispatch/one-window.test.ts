import { followSheet, homeOnAxis, runStrategy, type SheetSchedule, searchSettings } from '@duskbank/core/dispatch';
import type { CompiledTariff } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { tieOf } from '../../../packages/core/src/dispatch/settings/choose.ts';
import { openService, plainPlant, seededHome, windowTariff } from '../../support/homes.ts';

/** Three or four prices in three to six stretches of the day. */
const someStretches = fc
  .record({
    edges: fc.uniqueArray(fc.integer({ min: 0, max: 23 }), { minLength: 3, maxLength: 6 }),
    levels: fc.constantFrom([0.07, 0.13, 0.31], [0.1, 0.2, 0.45], [0.06, 0.12, 0.2, 0.36], [0.1, 0.14, 0.3, 0.32]),
    order: fc.array(fc.nat(3), { minLength: 6, maxLength: 6 }),
  })
  .map(({ edges, levels, order }) => {
    const sorted = edges.toSorted((a, b) => a - b);
    const prices = sorted.map((_, k) => levels[order[k]! % levels.length]!);
    // Where the price stays the same is no edge.
    const isEdge = (k: number) => prices[k] !== prices.at(k - 1);
    return { edges: sorted.filter((_, k) => isEdge(k)), prices: prices.filter((_, k) => isEdge(k)) };
  })
  .filter(({ prices }) => new Set(prices).size >= 3);

test('on a box of one window no window from one price edge to another saves more than the sheet, but for the tie sum', () => {
  let judged = 0;
  fc.assert(
    fc.property(
      someStretches,
      fc.record({
        seed: fc.nat(),
        solarKw: fc.constantFrom(0, 0, 2),
        kw: fc.constantFrom(1.5, 4),
        capacityKwh: fc.constantFrom(3.6, 10),
        standbyW: fc.constantFrom(0, 12),
      }),
      ({ edges, prices }, { seed, solarKw, kw, capacityKwh, standbyW }) => {
        const priceAt = (hour: number) => prices.at(edges.findLastIndex((edge) => edge <= hour))!;
        const home = seededHome(
          seed,
          { days: 28, stepMinutes: 60, startEpochMs: Date.UTC(2026, 2, 2), zone: 'Etc/UTC', solarKw },
          plainPlant({ capacityKwh, floorKwh: 0, startKwh: 0, chargeLimitKw: kw, dischargeLimitKw: 3, standbyW }),
          openService,
          (axis): CompiledTariff => ({
            ...windowTariff(axis, { sale: 0.02 }),
            importPricePerKwh: Float64Array.from(axis.calendar.minuteOfDay, (minute) => priceAt(minute / 60)),
          }),
        );
        const onAxis = homeOnAxis(home);
        const { importPricePerKwh, exportPricePerKwh } = home.tariff;
        const billOf = (importKwh: Float64Array, exportKwh: Float64Array) =>
          importKwh.reduce(
            (sum, kwh, i) => sum + kwh * importPricePerKwh[i]! - exportKwh[i]! * exportPricePerKwh[i]!,
            0,
          );
        const { all, windowsFailed } = searchSettings(onAxis, home.tariff, {
          windowsPerDay: 1,
          seasons: 1,
          weekends: false,
          clockMinutes: 30,
        });
        // Windows that do worse than none on weeks that they were not found on are not entered.
        if (windowsFailed) return;
        judged++;
        const run = (schedules: readonly SheetSchedule[]) => {
          const { flows } = runStrategy(followSheet({ ...all, schedules }), home, { onAxis });
          return billOf(flows.importKwh, flows.exportKwh);
        };
        const net = home.loadKwh.map((kwh, i) => kwh - home.solarKwh[i]!);
        const without = billOf(
          net.map((kwh) => Math.max(0, kwh)),
          net.map((kwh) => Math.max(0, -kwh)),
        );
        let best = { bill: Number.POSITIVE_INFINITY, window: '' };
        for (const from of edges)
          for (const to of edges)
            for (const chargeToPercent of [100, 60]) {
              if (from === to) continue;
              const charge = { fromMinute: from * 60, toMinute: to * 60 };
              const bill = run([{ ...all.schedules[0]!, charge, chargeToPercent, discharge: null }]);
              if (bill < best.bill) best = { bill, window: `${from}-${to} to ${chargeToPercent} %` };
            }
        const tie = tieOf(without, without - best.bill);
        expect(run(all.schedules), `${best.window} saves more`).toBeLessThanOrEqual(best.bill + tie + 1e-9);
      },
    ),
    { seed: 20261127, numRuns: 100 },
  );
  expect(judged).toBeGreaterThan(80);
});
