import { makeAxis } from '@duskbank/core/axis';
import { parseSite } from '@duskbank/core/site';
import { compare, makeStudy, type Study } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';

// Three weeks of hours from 2026-01-05 on: 1 kWh an hour, at a price that is dear in two hours of each day. Which two, no
// clock can know: they move by three hours a day.
const DAYS = 21;
const startEpochMs = Date.UTC(2026, 0, 5);
const axis = makeAxis({ startEpochMs, stepMinutes: 60, intervals: DAYS * 24, zone: 'Etc/UTC' });
const loadKwh = new Float64Array(DAYS * 24).fill(1);
const pricePerKwh = Array.from({ length: DAYS * 24 }, (_, i) => {
  const dear = (6 + 3 * Math.floor(i / 24)) % 20;
  return i % 24 === dear || i % 24 === dear + 1 ? 0.6 : 0.2;
});
const tariff = parseTariff({
  format: 'duskbank.tariff/1',
  name: 'Hourly',
  currency: 'EUR',
  energy: [{ name: 'Market energy', series: { file: 'spot.csv', known: 'day-ahead' } }],
});

function homeWith(controller: object): Study {
  const site = parseSite({
    format: 'duskbank.site/1',
    name: 'A home',
    zone: 'Etc/UTC',
    tariff: 'hourly.json',
    meter: { files: ['home.csv'] },
    plant: {
      battery: { units: 1, usableKwh: 4, chargeKw: 2, dischargeKw: 2, roundTripEfficiency: 1, standbyW: 0 },
      inverter: { continuousKw: 2 },
      ...controller,
    },
  });
  const series = { axis, importKwh: loadKwh, exportKwh: new Float64Array(axis.intervals) };
  return makeStudy({
    site,
    series,
    tariff,
    tariffOptions: { series: { 'spot.csv': { startEpochMs, stepMinutes: 60, pricePerKwh } } },
  });
}

test('a box that follows published prices may count on a plan that does', () => {
  const report = compare(homeWith({ controller: { windowsPerDay: 0, follows: 'published-prices' } }));
  const row = report.strategies.find(({ strategy }) => strategy === 'follow-prices')!;
  expect(row).toMatchObject({ causal: true, role: 'rule', yardstick: false });
  expect(report.headline!.strategy).toBe('follow-prices');
  expect(report.warnings.map(({ code }) => code)).not.toContain('prices-not-followed');
  // Two dear hours a day, 0.40 apart, 1 kWh each: 0.80 a day but for the first, of which nothing is known.
  expect(row.savings!).toBeGreaterThan(0.9 * 0.8 * (DAYS - 1));
  expect(row.savings!).toBeLessThanOrEqual(0.8 * DAYS + 1e-9);
});

test('without one it is said what is left out, and no row counts on it', () => {
  const report = compare(homeWith({}));
  expect(report.strategies.map(({ strategy }) => strategy)).not.toContain('follow-prices');
  expect(report.warnings.map(({ code }) => code)).toContain('prices-not-followed');
  const best = report.strategies.filter(({ yardstick }) => !yardstick).map(({ savings }) => savings ?? 0);
  expect(Math.max(...best)).toBeLessThan(0.5 * 0.8 * DAYS);
});
