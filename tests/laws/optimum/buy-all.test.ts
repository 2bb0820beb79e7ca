import { hold, optimum, peakShave, selfConsumption, windowFill } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { bill, explain } from '@duskbank/core/study';
import { evaluate } from '@duskbank/core/trial';
import { describe, expect, it } from 'vitest';
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

describe('buy-all in words', () => {
  // 1 kWh an hour and 3 of sun at noon, as above; one kWh in gives 0.8 stored, one stored 0.8 out (round trip 0.64).
  const dear = { name: 'dear', from: '18:00', to: '22:00', pricePerKwh: 0.5 };
  const tariff = {
    windows: [dear, { name: 'cheap', otherwise: true, pricePerKwh: 0.1 }],
    export: { kind: 'buy-all', pricePerKwh: 0.2 },
  };
  const noonSun = hoursOf(10, (h) => [1, h === 12 ? 3 : 0]);
  const battery = { units: 1, usableKwh: 2, chargeKw: 2, dischargeKw: 2, roundTripEfficiency: 0.64, standbyW: 0 };

  it('own sun is bought before it is stored, and nothing stored is sold', async () => {
    const site = smallSite(noonSun, tariff, { battery });
    const { study } = await loadSite(site.path, site.read);
    // Noon of the fifth day.
    const report = explain(study, selfConsumption, 4 * 24 + 12);
    expect(report.flows.chargeKwh).toBeCloseTo(2, 9);
    // 0.1 / 0.8 bought, from the sun as from the grid; 0.5 · 0.8 saved in the evening; the price of the sale plays no part.
    expect(report.now.surplusCosts).toBeCloseTo(0.125, 9);
    expect(report.now.boughtCosts).toBeCloseTo(0.125, 9);
    expect(report.now.sellingEarns).toBe(0);
    expect(report.words.join(' ')).toContain('storing one from own surplus cost USD 0.1250');
    // Where every hour has one price, a stored kWh saves 0.1 · 0.8 and cost 0.125: it would have been best to do nothing.
    const flat = smallSite(
      noonSun,
      { ...tariff, windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.1 }] },
      { battery },
    );
    const loaded = await loadSite(flat.path, flat.read);
    const flatly = explain(loaded.study, selfConsumption, 4 * 24 + 12);
    expect(flatly.valueOfStoredKwh).toBeCloseTo(0.08, 9);
    expect(flatly.bestInHindsight.chargeKwh).toBe(0);
    expect(flatly.words.join(' ')).toContain('it did not pay');
  });

  it('no schedule trades on the price of what is sold', async () => {
    const site = smallSite(noonSun, tariff, { battery });
    const codes = (await loadSite(site.path, site.read)).study.warnings.map(({ code }) => code);
    expect(codes).not.toContain('export-above-import');
    const billed = smallSite(noonSun, { ...tariff, export: { kind: 'net-billing', pricePerKwh: 0.2 } }, { battery });
    const others = (await loadSite(billed.path, billed.read)).study.warnings.map(({ code }) => code);
    expect(others).toContain('export-above-import');
  });

  it('the net of one meter is not billed as the whole load', async () => {
    const site = smallSite(noonSun, tariff, { battery });
    const meter = site.files['home.csv']!.replaceAll(/^([^#].*),[^,]*$/gm, '$1');
    const read = readerOf({ ...site.files, 'home.csv': meter });
    const loaded = loadSite(site.path, read);
    await expect(loaded).rejects.toMatchObject({ issues: [{ code: 'missing-channel' }] });
    // A home that sells nothing, and says nothing of the sun, has none.
    const dark = smallSite(
      hoursOf(10, () => [1, 0]),
      tariff,
      { battery },
    );
    const imports = dark.files['home.csv']!.replaceAll(/^([^#].*),[^,]*$/gm, '$1');
    const { tariffs, pastOf } = await loadSite(dark.path, readerOf({ ...dark.files, 'home.csv': imports }));
    // 240 kWh, 40 of them dear.
    expect(bill(pastOf(tariffs[0]!)).total).toBeCloseTo(200 * 0.1 + 40 * 0.5, 9);
  });
});
