import { makeAxis } from '@duskbank/core/axis';
import { followSheet, runStrategy } from '@duskbank/core/dispatch';
import { parseSite } from '@duskbank/core/site';
import { makeStudy, settings } from '@duskbank/core/study';
import { billTotal, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, it } from 'vitest';
import { seeded } from '../../support/homes.ts';

/** A home without solar on a tariff whose spread pays in winter mornings alone. */
function winterPeak(controller: Record<string, unknown>, standbyW: number) {
  const site = parseSite({
    format: 'duskbank.site/1',
    name: 'Cold Ridge',
    zone: 'America/Denver',
    meter: { files: ['none.csv'] },
    tariff: 'none.json',
    plant: {
      battery: { units: 1, usableKwh: 5, chargeKw: 2.5, dischargeKw: 2.5, roundTripEfficiency: 0.85, standbyW },
      controller,
    },
  });
  const axis = makeAxis({
    startEpochMs: Date.UTC(2026, 0, 1, 7),
    stepMinutes: 60,
    intervals: 8760,
    zone: 'America/Denver',
  });
  const random = seeded(4);
  const loadKwh = Float64Array.from({ length: axis.intervals }, () => 0.3 + 1.2 * random());
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Winter Morning',
    currency: 'USD',
    seasons: [
      { name: 'winter', months: [12, 1, 2] },
      { name: 'rest', months: [3, 4, 5, 6, 7, 8, 9, 10, 11] },
    ],
    windows: [
      { name: 'morning', seasons: 'winter', from: '06:00', to: '10:00', pricePerKwh: 0.5 },
      { name: 'night', seasons: 'winter', from: '22:00', to: '06:00', pricePerKwh: 0.2 },
      { name: 'day', otherwise: true, pricePerKwh: 0.25 },
    ],
  });
  return makeStudy({ site, series: { axis, importKwh: loadKwh } as never, tariff });
}

describe('settings', () => {
  it('re-simulated from what was printed, the sheet has the same bill to the cent', () => {
    const study = winterPeak({ windowsPerDay: 2, seasons: 2 }, 0);
    const report = JSON.parse(JSON.stringify(settings(study)));
    const again = billTotal(study.home.tariff, runStrategy(followSheet(report.sheet), study.home).flows);
    expect(again).toBeCloseTo(report.inSample.bill.total, 2);
    expect(report.inSample.savings).toBeGreaterThan(0);
    expect(report.expected.savings).toBeLessThanOrEqual(report.rolling.savings * 1.01);
  });

  it('one window and no seasons lose money in a winter-peak home, and it says so', () => {
    const report = settings(winterPeak({ windowsPerDay: 1 }, 40));
    expect(report.expected.savings).toBeLessThan(0);
    expect(report.warnings.map((warning) => warning.code)).toContain('settings-lose-money');
  });
});
