import { followSheet, type SettingsSheet } from '@duskbank/core/dispatch';
import { summarizeBackup } from '@duskbank/core/outage';
import { compare, type Study, settings } from '@duskbank/core/study';
import { evaluate } from '@duskbank/core/trial';
import { describe, expect, test } from 'vitest';
import { compareText } from '../../../packages/cli/src/render/compare.ts';
import { DEAR_EVENING, sunnyHome } from '../../support/sunny-home.ts';
import { winterHome } from '../../support/winter-home.ts';

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

/** What a sheet does over the whole past. */
function runOf(study: Study, sheet: SettingsSheet) {
  const { bill, backupHours } = evaluate(study.home, followSheet(sheet), ['bill', 'backupHours']);
  const { allHours, weekdayEvenings } = summarizeBackup(study.home.axis, backupHours!);
  return { total: bill.total, hours: allHours.p10, evenings: weekdayEvenings.p10 };
}

test('one that lasts longer on evenings and at any hour is the one that is printed: held full, a dollar a year more', () => {
  const study = winterHome({ windowsPerDay: 1 }).study();
  const { sheet, lights, warnings } = settings(study);
  expect(warnings.map(({ code }) => code)).not.toContain('sheet-lasts-on-evenings');
  const ours = runOf(study, sheet);
  const empty = runOf(study, { ...sheet, schedules: [{ ...sheet.schedules[0]!, charge: null, chargeToPercent: 0 }] });
  expect(empty.hours).toBe(0);
  expect(ours.hours).toBeGreaterThan(4);
  expect(ours.evenings).toBeGreaterThan(4);
  // 5 kWh are filled once, and the floor was at 0.
  expect(ours.total - empty.total).toBeLessThanOrEqual(lights!.mostPerYear + 0.005);
});

describe('windows that fill further for evenings', () => {
  test.each([1.5, 2.1, 2.3, 4])(
    'with %s kW of sun none for half the sum lasts longer on them and no shorter at any hour',
    (solarKw) => {
      const study = sunnyHome(solarKw, DEAR_EVENING, (day) => 0.15 + 0.85 * ((0.618 * day) % 1));
      const report = settings(study);
      const { sheet, lights } = report;
      const ours = runOf(study, sheet);
      const most = lights!.mostPerYear / report.axis.perYear;
      for (const percent of [60, 70, 80, 90, 100]) {
        const schedules = sheet.schedules.map((one) =>
          one.charge === null || one.chargeToPercent === 0
            ? one
            : { ...one, chargeToPercent: Math.max(percent, one.chargeToPercent) },
        );
        const fuller = runOf(study, { ...sheet, schedules });
        const costsMore = fuller.total - ours.total + lights!.givenUpPerYear / report.axis.perYear;
        const longer = fuller.evenings - ours.evenings;
        const isBetter =
          costsMore <= most / 2 && longer >= Math.max(0.4, 0.05 * ours.evenings) && fuller.hours >= ours.hours - 1e-9;
        expect(isBetter, `${percent} %: ${longer} h for ${costsMore}`).toBe(false);
      }
      expect(lights!.eveningHours).toBeCloseTo(ours.evenings, 9);
      expect(lights!.hours).toBeCloseTo(ours.hours, 9);
    },
  );
});
