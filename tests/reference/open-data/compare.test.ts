import { parseIntervalData, repairGaps } from '@duskbank/core/meter';
import { parseSite } from '@duskbank/core/site';
import { compare, makeStudy } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import { openData, openDataPresent } from '../../support/open-data.ts';
import { expectPhysics } from '../../support/physics.ts';

// The main job on real homes: a network operator's half-hourly home with solar (customer 12 of an open data set, July
// 2011 to June 2012, kW though nothing says so) and a utility's hourly download. Totals as their ORIGIN.md gives them.

/** A tariff of our own. */
const TARIFF = {
  format: 'duskbank.tariff/1',
  name: 'Three windows',
  currency: 'AUD',
  windows: [
    { name: 'on-peak', days: 'weekday', from: '14:00', to: '20:00', pricePerKwh: 0.52 },
    { name: 'night', from: '22:00', to: '07:00', pricePerKwh: 0.15 },
    { name: 'shoulder', otherwise: true, pricePerKwh: 0.24 },
  ],
  fixed: [{ name: 'Supply', amount: 0.9, per: 'day' }],
  export: { kind: 'net-billing', pricePerKwh: 0.06 },
};

function site(zone: string, reach: unknown = 'whole-home') {
  return parseSite({
    format: 'duskbank.site/1',
    name: 'Open data',
    zone,
    meter: { files: ['unused.csv'] },
    tariff: 'unused.json',
    plant: {
      battery: { units: 2, usableKwh: 3.8, chargeKw: 3, dischargeKw: 6, roundTripEfficiency: 0.85 },
      reach,
    },
  });
}

describe.skipIf(!openDataPresent)('home A', () => {
  const read = openDataPresent
    ? parseIntervalData(openData('home-a/home-a-halfhour.csv'), {
        zone: 'Australia/Sydney',
        unit: 'kW',
        columns: { start: 1, load: 'GC', solar: 'GG' },
      })
    : undefined;

  test('reads 5,938 kWh of load and 1,296 kWh of solar once its unit is stated', () => {
    const { series } = read!;
    const sum = (values: Float64Array) => values.reduce((total, kwh) => total + (Number.isNaN(kwh) ? 0 : kwh), 0);
    // 0.05 % of the totals, which ORIGIN.md rounds to 1 kWh.
    expect(Math.abs(sum(series!.loadKwh!) - 5938)).toBeLessThan(0.0005 * 5938);
    expect(Math.abs(sum(series!.solarKwh!) - 1296)).toBeLessThan(0.0005 * 1296 + 0.5);
  });

  const studyAt = (reach: unknown) =>
    makeStudy({
      site: site('Australia/Sydney', reach),
      series: repairGaps(read!.series!).series,
      tariff: parseTariff(TARIFF),
    });

  test('every strategy obeys physics, and none equals the baseline', () => {
    const study = studyAt('whole-home');
    const report = compare(study, { onRun: (run) => expectPhysics(study.home, run) });
    const row = (name: string) => report.strategies.find((strategy) => strategy.strategy === name)!;
    expect(row('none').bill.total).toBe(report.baseline.bill.total);
    expect(row('none').savings).toBe(0);
    expect(row('hold').savings).toBeLessThan(0);
    expect(row('window').savings!).toBeGreaterThan(row('self-consumption').savings!);
  });

  test('window saves more the more of the load it reaches; 40 % reach gives 35 to 60 % of full', () => {
    const savings = [0.2, 0.4, 0.6, 0.8, 1].map((share) => {
      const report = compare(studyAt({ share }));
      return report.strategies.find((row) => row.strategy === 'window')!.savings!;
    });
    for (let k = 1; k < savings.length; k++) expect(savings[k]!).toBeGreaterThan(savings[k - 1]!);
    const share = savings[1]! / savings[4]!;
    expect(share).toBeGreaterThan(0.35);
    expect(share).toBeLessThan(0.6);
  });
});

describe.skipIf(!openDataPresent)('home B', () => {
  test('reads 3,912.4 kWh from the utility’s download and compares strategies over it', () => {
    const read = parseIntervalData(openData('home-b/home-b-hourly-utility-download.csv'), {
      zone: 'America/Los_Angeles',
    });
    const { series } = read;
    expect(read.findings.filter((finding) => finding.severity === 'error')).toEqual([]);
    const total = series!.importKwh!.reduce((sum, kwh) => sum + (Number.isNaN(kwh) ? 0 : kwh), 0);
    expect(Math.abs(total - 3912.4)).toBeLessThan(0.0501); // rounded to 0.1 kWh there
    const study = makeStudy({
      site: site('America/Los_Angeles'),
      series: repairGaps(series!).series,
      tariff: parseTariff({ ...TARIFF, currency: 'USD' }),
    });
    const report = compare(study, { onRun: (run) => expectPhysics(study.home, run) });
    const saved = Object.fromEntries(report.strategies.map((row) => [row.strategy, row.savings!]));
    expect(saved.window).toBeGreaterThan(0);
    // No solar: nothing to consume oneself, so the idle battery changes nothing.
    expect(saved['self-consumption']).toBe(0);
  });
});

test.skipIf(openDataPresent)('open data are not beside the project: tests on real homes are skipped', () => {
  expect(openDataPresent).toBe(false);
});
