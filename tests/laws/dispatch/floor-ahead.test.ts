import { hold, optimum, selfConsumption, windowFill } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { evaluate } from '@duskbank/core/trial';
import { describe, expect, it } from 'vitest';
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

describe('a floor that rises at night', () => {
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
});
