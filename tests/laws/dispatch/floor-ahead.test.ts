import {
  followPrices,
  hold,
  optimum,
  peakShave,
  rolling,
  type Strategy,
  selfConsumption,
  windowFill,
} from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { evaluate } from '@duskbank/core/trial';
import { describe, expect, it } from 'vitest';
import { checkedSite, type Document } from '../../support/checker/index.ts';
import { hoursOf, smallSite } from '../panel/small-site.ts';

// Two weeks: 3 kWh an hour from 17 to 21 o'clock, sun of 2 kWh an hour at noon; 6 of 10 kWh are to be there from 21:00 on.
const home = hoursOf(14, (h) => [h >= 17 && h < 21 ? 3 : 0.4, h >= 10 && h < 15 ? 2 : 0]);
const evening = {
  windows: [
    { name: 'peak', from: '16:00', to: '21:00', pricePerKwh: 0.4 },
    { name: 'rest', otherwise: true, pricePerKwh: 0.15 },
  ],
};
const flat = { windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.25 }] };
const battery = {
  units: 1,
  usableKwh: 10,
  chargeKw: 3,
  dischargeKw: 4,
  roundTripEfficiency: 0.85,
  decayPerMonth: 0.03,
};
const siteOf = (tariff: Record<string, unknown>, plant: Record<string, unknown> = {}) =>
  smallSite(
    home,
    tariff,
    { battery, ...plant },
    {},
    {
      backup: { reserve: { byHour: [{ from: '21:00', to: '06:00', share: 0.6 }] } },
    },
  );
const caseOf = async (...args: Parameters<typeof siteOf>) => {
  const site = siteOf(...args);
  return (await loadSite(site.path, site.read)).case;
};

const missedOf = (of: Awaited<ReturnType<typeof caseOf>>, rule: Strategy) => {
  const { flows } = evaluate(of, rule, ['flows']);
  const floorKwh = of.plant.floorKwh as Float64Array;
  return floorKwh.map((kwh, i) => (flows.socKwh[i]! < kwh - 1e-9 ? 1 : 0));
};

describe('a floor that rises', () => {
  it.each([
    ['evening prices', evening],
    ['one price', flat],
  ])('is kept by every rule, on %s, and none comes under the best possible', async (_, tariff) => {
    const of = await caseOf(tariff);
    const best = evaluate(of, optimum(), ['bill', 'bound']);
    for (const rule of [hold, selfConsumption, windowFill]) {
      const run = evaluate(of, rule, ['bill']);
      expect(run.shortfallIntervals, rule.name).toBe(0);
      expect(run.bill.unrounded, rule.name).toBeGreaterThan(best.bound.billTotal - 1e-6);
    }
  });

  it('leaves what is above it to the evening, and is not bought in the dear hours', async () => {
    const of = await caseOf(evening);
    const { flows } = evaluate(of, selfConsumption, ['flows']);
    let boughtKwh = 0;
    let carriedKwh = 0;
    for (let i = 0; i < of.axis.intervals; i++) {
      const hour = of.axis.calendar.minuteOfDay[i]! / 60;
      if (i < 48 || hour < 16 || hour >= 21) continue;
      boughtKwh += flows.chargeKwh[i]!;
      carriedKwh += flows.dischargeKwh[i]!;
    }
    expect(boughtKwh).toBeLessThan(0.1);
    expect(carriedKwh).toBeGreaterThan(12 * 2);
  });

  it('is missed by less where only the sun can charge', async () => {
    const of = await caseOf(evening, { gridCharging: false });
    const run = evaluate(of, selfConsumption, ['flows']);
    expect(run.shortfallKwh).toBeLessThan(1);
  });

  const demand = { name: 'Demand', pricePerKw: 9 };
  const tariffs: Record<string, Record<string, unknown>> = {
    'evening prices': evening,
    'one price': flat,
    demand: { ...evening, demand: [demand] },
    'demand of the evening': { ...evening, demand: [{ ...demand, from: '16:00', to: '21:00' }] },
  };
  const reserves: Record<string, Document> = {
    'each night': { byHour: [{ from: '21:00', to: '06:00', share: 0.6 }] },
    'for an hour of the evening': { byHour: [{ from: '17:00', to: '18:00', share: 0.9 }] },
    'with a month': { byMonth: [{ months: [2], share: 0.8 }] },
    'for a planned outage': { planned: [{ from: '2025-02-04T16:00', to: '2025-02-05T16:00', noticeHours: 24 }] },
  };
  // Six weeks whose evenings differ, and grow.
  const growing = hoursOf(42, (h, day) => {
    const chance = ((day * 7 + h * 13) % 10) / 10;
    return [(h >= 16 && h < 22 ? 2.5 : 0.5) * (0.3 + chance) * (1 + day / 25), h >= 9 && h < 16 ? 2.5 * chance : 0];
  });
  const batteries: Record<string, Document> = {
    'a quick battery': battery,
    'a slow one': { ...battery, chargeKw: 0.35 },
    'one that draws while it converts': { ...battery, conversionW: 40 },
  };
  const rules = [selfConsumption, windowFill, peakShave(), peakShave({ targetKw: 2 })];

  it.each(Object.keys(batteries))('is missed by no rule where holding the battery keeps it: %s', async (name) => {
    for (const reserve of Object.values(reserves))
      for (const tariff of Object.values(tariffs))
        for (const days of [hoursOf(42, (h) => [h >= 17 && h < 21 ? 3 : 0.4, h >= 10 && h < 15 ? 2 : 0]), growing]) {
          const site = smallSite(days, tariff, { battery: batteries[name] }, {}, { backup: { reserve } });
          const of = (await loadSite(site.path, site.read)).case;
          const kept = missedOf(of, hold);
          for (const rule of rules) {
            const missed = missedOf(of, rule).filter((flag, i) => flag === 1 && kept[i] === 0).length;
            expect(missed, `${rule.name}, ${JSON.stringify(reserve)}, ${JSON.stringify(tariff.demand)}`).toBe(0);
          }
        }
  });

  it.each(Object.keys(batteries))('is missed by rolling nowhere where follow-prices keeps it: %s', async (name) => {
    for (const gridCharging of [true, false])
      for (const tariff of [evening, tariffs.demand!]) {
        const backup = { reserve: reserves['each night']! };
        const site = smallSite(
          growing.slice(0, 14 * 24),
          tariff,
          { battery: batteries[name], gridCharging },
          {},
          { backup },
        );
        const of = (await loadSite(site.path, site.read)).case;
        const kept = missedOf(of, followPrices());
        const missed = missedOf(of, rolling()).filter((flag, i) => flag === 1 && kept[i] === 0).length;
        expect(missed, `charging from the grid ${gridCharging}, ${JSON.stringify(tariff)}`).toBe(0);
      }
  });

  it('leaves room beside the load of an evening under an import limit', async () => {
    const site = smallSite(
      hoursOf(14, (h) => [h >= 17 && h < 22 ? 3.6 : 0.4, 0]),
      evening,
      { battery },
      {},
      { backup: { reserve: reserves['each night'] }, service: { importLimitKw: 4 } },
    );
    const of = (await loadSite(site.path, site.read)).case;
    for (const rule of rules) expect(missedOf(of, rule).slice(24), rule.name).toEqual(new Float64Array(13 * 24));
  });

  it('costs less in demand where the cap is given up early rather than the battery filled at full power', async () => {
    const of = await caseOf(tariffs.demand!);
    const { flows } = evaluate(of, peakShave(), ['flows']);
    // At full power at 21:00 it would be 0.4 + 3 kW and more; the evening alone is 3.
    expect(Math.max(...flows.importKwh.subarray(24))).toBeLessThan(3 + 1e-9);
  });

  const twice = {
    byHour: [{ from: '21:00', to: '06:00', share: 0.3 }],
    planned: [
      { from: '2025-01-20T16:00', to: '2025-01-21T04:00', noticeHours: 8 },
      { from: '2025-01-22T09:00', to: '2025-01-22T17:00', noticeHours: 60 },
    ],
  };
  const told: Record<string, [reserve: Document, plant?: Document]> = {
    'each night': [reserves['each night']!],
    'for an hour of the evening': [reserves['for an hour of the evening']!],
    'with a month': [reserves['with a month']!],
    'for a planned outage': [reserves['for a planned outage']!],
    'for two, of which the later is noticed first': [twice],
    'for two, from the sun alone': [twice, { gridCharging: false }],
  };

  it.each(Object.keys(told))('is kept by rules as the documents say: %s', async (name) => {
    const [reserve, plant] = told[name]!;
    for (const tariff of Object.values(tariffs)) {
      for (const more of [{}, { service: { importLimitKw: 6 } }]) {
        const site = smallSite(growing, tariff, { battery, ...plant }, {}, { ...more, backup: { reserve } });
        const loaded = await loadSite(site.path, site.read);
        const mine = checkedSite({
          site: site.document,
          tariff: site.tariff,
          meter: site.files['home.csv']!,
          files: site.files,
        });
        const pairs = [
          [peakShave({ targetKw: 2 }), mine.peakShave(2)],
          [selfConsumption, mine.run('self-consumption')],
          [windowFill, mine.run('window')],
        ] as const;
        for (const [rule, flow] of pairs) {
          // The documents describe its window until a tariff leaves none.
          if (rule === windowFill && mine.windowIsDescribedUntil < loaded.case.axis.intervals) continue;
          const { flows } = evaluate(loaded.case, rule, ['flows']);
          for (const series of ['importKwh', 'socKwh', 'chargeKwh', 'dischargeKwh'] as const)
            expect(
              flows[series].findIndex((kwh, i) => !(Math.abs(kwh - flow[series][i]!) < 1e-6)),
              `${rule.name}: ${series}`,
            ).toBe(-1);
        }
      }
    }
  });
});
