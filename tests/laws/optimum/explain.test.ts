import { homeOnAxis, homeProblem, rolling, storedValue } from '@duskbank/core/dispatch';
import { parseSite } from '@duskbank/core/site';
import { explain, makeStudy, standardStrategies } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { type PriceKind, randomProblem, seeded } from '../../reference/optimum/problems.ts';
import { seededHome } from '../../support/homes.ts';

test('at 1,000 random moments the cost to go falls by what a stored kWh is said to be worth', () => {
  const kinds: PriceKind[] = ['window', 'tiered-window', 'volatile', 'net-metered'];
  const random = seeded(99);
  let held = 0;
  let tried = 0;
  for (; held < 1000; tried++) {
    // Every option of the problem comes up; the floor and capacity are those of the moment's end.
    const problem = randomProblem(1 + (tried % 97), 160, kinds[tried % 4]!, tried % 2 === 0);
    const from = Math.floor(random() * 160);
    const at = (value: number | Float64Array) => (typeof value === 'number' ? value : value[from]!);
    const floor = at(problem.floorKwh);
    const room = at(problem.capacityKwh) - floor;
    const soc = floor + 0.9 * random() * room;
    const step = 0.05 * room;
    const here = storedValue(problem, from, soc);
    const above = storedValue(problem, from, soc + step);
    const fall = (here.costToGo - above.costToGo) / step;
    // Unserved load has a price above all money that is no part of the cost.
    if (here.perKwh > 10 || above.perKwh > 10) continue;
    held++;
    // 1e-8: difference of two costs of some tens over some tenths of a kWh
    expect(fall, `moment ${tried}`).toBeLessThanOrEqual(here.perKwh + 1e-8);
    expect(fall, `moment ${tried}`).toBeGreaterThanOrEqual(above.perKwh - 1e-8);
  }
  // Few moments have load that nothing can serve.
  expect(tried).toBeLessThan(1200);
});

/** Two weeks of a random home on a tariff of three prices, its plant by chance. */
function randomStudy(seed: number) {
  const random = seeded(seed);
  const pick = <T>(...choices: T[]) => choices[Math.floor(random() * choices.length)]!;
  const site = parseSite({
    format: 'duskbank.site/1',
    name: 'Fern Bank 7',
    zone: 'America/Denver',
    meter: { files: ['none.csv'] },
    tariff: 'none.json',
    plant: {
      battery: {
        units: pick(1, 2),
        usableKwh: pick(3, 5, 10),
        chargeKw: pick(1, 2.5),
        dischargeKw: pick(1.5, 3),
        roundTripEfficiency: pick(1, 0.9, 0.8),
        decayPerMonth: pick(0, 0.05),
        standbyW: pick(0, 30),
      },
      floor: { share: pick(0, 0.2, 0.5) },
      gridCharging: pick(true, true, false),
      batteryExport: pick(true, false),
      controller: { windowsPerDay: 2 },
    },
    service: pick({}, { exportLimitKw: 1 }, { importLimitKw: 9 }),
  });
  const shape = { days: 14, stepMinutes: pick(30, 60), startEpochMs: Date.UTC(2026, 9, 26, 6), zone: 'America/Denver' };
  const { axis, loadKwh, solarKwh } = seededHome(seed, { ...shape, solarKw: pick(0, 3, 8) });
  const importKwh = loadKwh.map((load, i) => Math.max(0, load - solarKwh[i]!));
  const exportKwh = loadKwh.map((load, i) => Math.max(0, solarKwh[i]! - load));
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Three Prices',
    currency: 'USD',
    windows: [
      { name: 'evening', from: '16:00', to: '21:00', pricePerKwh: 0.3 + 0.3 * random() },
      { name: 'night', from: '00:00', to: '06:00', pricePerKwh: 0.08 + 0.1 * random() },
      { name: 'day', otherwise: true, pricePerKwh: 0.2 },
    ],
    export: { kind: 'net-billing', pricePerKwh: pick(0.03, 0.07) },
  });
  return makeStudy({ site, series: { axis, importKwh, exportKwh, solarKwh } as never, tariff });
}

test('at 1,000 random moments of random homes the value that `explain` states is that, whatever ran the battery', () => {
  const random = seeded(7);
  const seen = new Map<string, number>();
  let held = 0;
  for (let seed = 1; held < 1000; seed++) {
    const study = randomStudy(seed);
    const { home } = study;
    const problem = homeProblem(homeOnAxis(home), home.tariff);
    const strategies = [...standardStrategies(study), rolling()].filter((strategy) => strategy.role !== 'baseline');
    for (let k = 0; k < 20 && held < 1000; k++) {
      const index = Math.floor(random() * home.axis.intervals);
      const strategy = strategies[k % strategies.length]!;
      const report = explain(study, strategy, index);
      const { startKwh, capacityKwh, floorKwh } = report.stored;
      const step = Math.min(0.05 * (capacityKwh - floorKwh), capacityKwh - startKwh);
      // A full battery has no room for one more kWh.
      if (step < 0.01) continue;
      held++;
      seen.set(strategy.name, (seen.get(strategy.name) ?? 0) + 1);
      const here = storedValue(problem, index, startKwh);
      const above = storedValue(problem, index, startKwh + step);
      const fall = (here.costToGo - above.costToGo) / step;
      const moment = `home ${seed}, "${strategy.name}", interval ${index}`;
      // 1e-8: difference of two costs of some tens over some tenths of a kWh
      expect(fall, moment).toBeLessThanOrEqual(report.valueOfStoredKwh + 1e-8);
      expect(fall, moment).toBeGreaterThanOrEqual(above.perKwh - 1e-8);
    }
  }
  expect([...seen.keys()].sort()).toEqual(
    ['hold', 'optimum', 'peak-shave', 'rolling', 'self-consumption', 'settings', 'window'].sort(),
  );
  for (const [name, count] of seen) expect(count, name).toBeGreaterThan(20);
});
