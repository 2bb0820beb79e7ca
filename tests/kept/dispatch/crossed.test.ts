// Kept answers: see tests/support/kept.ts.
import { bestInHindsight, peakShave, rolling, runStrategy } from '@duskbank/core/dispatch';
import { billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { crossedTariffs } from '../../support/crossed-tariffs.ts';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';
import { keptOf } from '../../support/kept.ts';

const PLANTS = [
  plainPlant({ batteryExport: true, startKwh: 2 }),
  plainPlant({ floorKwh: 0.9, standbyW: 15, conversionW: 30 }),
  plainPlant({ coupling: 'dc', capacityKwh: 11, inverterKw: 4, gridCharging: false }),
];

/** Minimum bills over charges on power, blocks, classes and netted energy: what one does to the bound of another. */
test.each(crossedTariffs(2, 6).map((crossed, k) => [crossed.name, crossed, k] as const))(
  'the cheapest run in hindsight on prices of %s with what others have beside them',
  async (_name, { document, axis, options }, k) => {
    const { startEpochMs, zone } = axis;
    const shape = { days: 6, stepMinutes: 60, startEpochMs, zone, solarKw: (k % 3) * 2.5 };
    expect(
      await keptOf(() => {
        const home = seededHome(1300 + k, shape, PLANTS[k % PLANTS.length]!, openService, (on) =>
          compileTariff(parseTariff(document), on, options),
        );
        const runs = [peakShave(), rolling({ everyHours: 8, scenarios: 2 })].map((strategy) => {
          const { flows } = runStrategy(strategy, home);
          return { bill: billTotal(home.tariff, flows), flows: { ...flows } };
        });
        return { ...bestInHindsight(home), runs };
      }),
    ).toMatchSnapshot();
  },
);
