import { makeAxis } from '@duskbank/core/axis';
import { followSheet } from '@duskbank/core/dispatch';
import { summarizeBackup } from '@duskbank/core/outage';
import { parseSite } from '@duskbank/core/site';
import { compare, makeStudy, settings } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { evaluate } from '@duskbank/core/trial';
import { expect, test } from 'vitest';
import { compareText } from '../../../packages/cli/src/render/compare.ts';

const DAYS = 84;

/**
 * A sunny home with cheap hours at noon and at night. On sunny days its own sun fills the battery for the evening, on dull ones (every
 * sixth) nothing does: what charges at noon lasts through every evening, what charges at night through every morning.
 */
function sunnyHome(solarKw: number) {
  const axis = makeAxis({ startEpochMs: Date.UTC(2026, 3, 6), stepMinutes: 30, intervals: DAYS * 48, zone: 'Etc/UTC' });
  const sunAt = (i: number) => {
    const hour = (i % 48) / 2;
    const dull = Math.floor(i / 48) % 6 === 5 ? 0.1 : 1;
    return hour < 8 || hour > 18 ? 0 : 0.5 * solarKw * dull * Math.sin((Math.PI * (hour - 8)) / 10);
  };
  const solarKwh = Float64Array.from({ length: axis.intervals }, (_, i) => sunAt(i));
  const loadKwh = Float64Array.from({ length: axis.intervals }, (_, i) => (i % 48 >= 34 && i % 48 < 46 ? 0.42 : 0.16));
  const net = loadKwh.map((kwh, i) => kwh - solarKwh[i]!);
  const series = {
    axis,
    importKwh: net.map((kwh) => Math.max(0, kwh)),
    exportKwh: net.map((kwh) => Math.max(0, -kwh)),
    solarKwh,
  };
  const site = parseSite({
    format: 'duskbank.site/1',
    name: 'Lime Lane 8',
    zone: 'Etc/UTC',
    meter: { files: ['none.csv'] },
    tariff: 'none.json',
    plant: {
      battery: { units: 1, usableKwh: 7, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.9, standbyW: 10 },
      floor: { share: 0.2 },
      controller: { windowsPerDay: 1 },
    },
    backup: { load: { watts: 350 } },
  });
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Two Cheap Spells',
    currency: 'PLN',
    windows: [
      { name: 'night', from: '22:00', to: '06:00', pricePerKwh: 0.62 },
      { name: 'noon', from: '13:00', to: '15:00', pricePerKwh: 0.62 },
      { name: 'day', otherwise: true, pricePerKwh: 1.19 },
    ],
    export: { kind: 'none' },
  });
  return makeStudy({ site, series, tariff });
}

test('a sheet that is about as cheap and lasts longer on evenings is told beside the one that lasts longest at any hour', () => {
  const study = sunnyHome(1.5);
  const report = settings(study);
  const told = report.warnings.find(({ code }) => code === 'sheet-lasts-on-evenings')!;
  const data = told.data as unknown as Parameters<typeof run>[0] & Record<string, number>;
  // What it says of both is what both do: each run as it stands.
  const run = (sheet: { schedules: typeof report.sheet.schedules }) => {
    const { bill, backupHours } = evaluate(study.home, followSheet({ ...report.sheet, ...sheet }), [
      'bill',
      'backupHours',
    ]);
    const { allHours, weekdayEvenings } = summarizeBackup(study.home.axis, backupHours!);
    return { total: bill.total, hours: allHours.p10, evenings: weekdayEvenings.p10 };
  };
  const [ours, its] = [run(report.sheet), run(data)];
  expect(data.printedHours).toBeCloseTo(ours.hours, 9);
  expect(data.printedEveningHours).toBeCloseTo(ours.evenings, 9);
  expect(data.hours).toBeCloseTo(its.hours, 9);
  expect(data.eveningHours).toBeCloseTo(its.evenings, 9);
  expect(data.moreSavedPerYear).toBeCloseTo((ours.total - its.total) * report.axis.perYear, 6);
  expect(its.evenings).toBeGreaterThan(ours.evenings + 1);
  expect(its.hours).toBeLessThanOrEqual(ours.hours + 0.02);
  const tie = report.lights!.mostPerYear / report.axis.perYear;
  expect(its.total - ours.total).toBeLessThanOrEqual(tie + 0.005);
  // On the page beside the evenings that the headline tells, before the table.
  const page = compareText(compare(study));
  const at = page.indexOf('! on weekday evenings the settings that are printed last');
  expect(at).toBeGreaterThan(0);
  expect(at).toBeLessThan(page.indexOf('self-consumption'));
  expect(page.split('on weekday evenings the settings that are printed last')).toHaveLength(2);
});

test('nothing is told where the printed sheet lasts as long on evenings as any', () => {
  const { warnings } = settings(sunnyHome(0));
  expect(warnings.map(({ code }) => code)).not.toContain('sheet-lasts-on-evenings');
});
