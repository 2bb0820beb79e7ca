import { hold, optimum, peakShave, selfConsumption, windowFill } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { evaluate } from '@duskbank/core/trial';
import { expect, it } from 'vitest';
import { generateSite, readerOf } from '../../support/panel/index.ts';
import { hoursOf, smallSite } from '../panel/small-site.ts';

const RULES = [hold, selfConsumption, windowFill, peakShave()];

it('buys cheap for the dear hours on the meter of the load, and sells all the sun', async () => {
  // Ten days: 1 kWh an hour, 3 of sun at noon. 4 kWh stored at 0.10 carry four hours at 0.50: 1.60 a day less.
  const site = smallSite(
    hoursOf(10, (h) => [1, h === 12 ? 3 : 0]),
    {
      windows: [
        { name: 'dear', from: '18:00', to: '22:00', pricePerKwh: 0.5 },
        { name: 'cheap', otherwise: true, pricePerKwh: 0.1 },
      ],
      export: { kind: 'buy-all', pricePerKwh: 0.08 },
    },
  );
  const { case: home } = await loadSite(site.path, site.read);
  const best = evaluate(home, optimum(), ['bill', 'bound', 'lines']);
  // Without a battery 10 · (20 · 0.1 + 4 · 0.5 − 3 · 0.08) = 37.60.
  expect(best.bill.total).toBeCloseTo(37.6 - 16, 9);
  expect(best.bound.proof).toBe('exact');
  const sold = best.lines.periods.flatMap(({ lines }) => lines).filter(({ kind }) => kind === 'export');
  expect(sold.map(({ quantity }) => quantity)).toEqual([30]);
});

it('no rule comes under the bound, and the best found is as good as any', async () => {
  let compared = 0;
  for (let seed = 0; seed < 14; seed++) {
    const site = generateSite(seed, { home: { days: 24 } });
    const sale = { kind: 'buy-all', pricePerKwh: 0.09 };
    const versions = (site.tariff.document.versions ?? []) as Record<string, unknown>[];
    const tariff = {
      ...site.tariff.document,
      export: sale,
      ...(versions.length === 0 ? {} : { versions: versions.map(({ export: _, ...rest }) => rest) }),
    };
    const name = site.document.tariff as string;
    const files = { ...site.files, [name]: JSON.stringify(tariff) };
    const { case: home } = await loadSite(site.path, readerOf(files));
    expect(home.tariff.metering).toBe('gross');
    const best = evaluate(home, optimum(), ['bill', 'bound']);
    const room = 1e-7 * Math.max(1, Math.abs(best.bill.unrounded));
    expect(best.bound.billTotal, `seed ${seed}`).toBeLessThanOrEqual(best.bill.unrounded + room);
    for (const rule of RULES) {
      const run = evaluate(home, rule, ['bill']);
      if (run.shortfallIntervals > best.shortfallIntervals) continue;
      compared++;
      expect(run.bill.unrounded, `seed ${seed}, ${rule.name}`).toBeGreaterThanOrEqual(best.bound.billTotal - room);
      if (rule.name !== 'hold')
        expect(run.bill.unrounded, `seed ${seed}, ${rule.name}`).toBeGreaterThanOrEqual(best.bill.unrounded - room);
    }
  }
  expect(compared).toBeGreaterThan(25);
});
