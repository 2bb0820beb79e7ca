// What the sheet's charging adds to what the service carries, and settings that the stated box can't hold.
import type { InputError } from '@duskbank/core/input';
import { loadSite } from '@duskbank/core/site';
import { outage, type SettingsReport, settings } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

const flat = (text: string) => text.replace(/\s+/g, ' ');

const BATTERY = { units: 1, usableKwh: 10, chargeKw: 5, dischargeKw: 5, roundTripEfficiency: 0.9, standbyW: 0 };
const BOX = { windowsPerDay: 1, seasons: 1 };

/** A car at 7 kW from 0 to 2 h beside 1 kW of the house, an evening of 2 kW, and a cheap night. */
async function carHome(more: object = {}, controller: object | undefined = BOX) {
  const tariff = {
    windows: [
      { name: 'night', from: '00:00', to: '06:00', pricePerKwh: 0.1 },
      { name: 'day', otherwise: true, pricePerKwh: 0.4 },
    ],
  };
  const hours = hoursOf(30, (h) => [h < 2 ? 8 : h >= 17 && h < 22 ? 2 : 0.5, 0]);
  const plant = { battery: BATTERY, floor: { share: 0.2 }, ...(controller === undefined ? {} : { controller }) };
  const site = smallSite(hours, tariff, plant, {}, { backup: { load: { watts: 200 } }, ...more });
  return (await loadSite(site.path, site.read)).study;
}

const warned = ({ warnings }: SettingsReport) =>
  warnings.filter(({ code }) => code === 'charging-above-service').map(({ data }) => [data.of, data.mostKw]);

describe('what charging adds to the service', () => {
  test('the most that is drawn, and the most with the battery charging in its window', async () => {
    const report = settings(await carHome());
    const { gridChargeKw } = report.sheet;
    expect(report.service).toMatchObject({ highestKw: 8, whileChargingKw: 8 + gridChargeKw, limitKw: null });
    expect(report.service.at).toMatch(/^\d{4}-\d\d-\d\d 00:00$/);
    expect(gridChargeKw).toBe(5);
    expect(warned(report)).toEqual([]);
    expect(flat(settingsText(report))).toContain(
      '13.0 kW in the windows with it charging (means of 60 minutes: shorter peaks are higher). No limit of the service is stated',
    );
  });

  test('a stated limit and 80 % of a stated main breaker are held against it, and an electrician is named', async () => {
    const panel = (mainAmps: number) => ({ backup: { load: { watts: 200 }, panel: { mainAmps } } });
    // 60 A at 240 V are 14.4 kVA, 11.5 for three hours or more; 70 A carry 13.4 of the latter.
    const small = settings(await carHome(panel(60)));
    expect(warned(small)).toEqual([['main-breaker', 11.52]]);
    expect(flat(settingsText(small))).toContain('have a licensed electrician look at it before this is typed in');
    expect(warned(settings(await carHome(panel(70))))).toEqual([]);
    const limited = settings(await carHome({ service: { importLimitKw: 12.5 } }));
    expect(warned(limited)).toEqual([['service', 12.5]]);
    expect(limited.service.limitKw).toBe(12.5);
    expect(warned(settings(await carHome({ service: { importLimitKw: 13 } })))).toEqual([]);
  });

  test('a sheet that never charges from the grid adds nothing', async () => {
    const study = await carHome({}, { windowsPerDay: 0 });
    const report = settings(study);
    expect(report.service).toMatchObject({ highestKw: 8, whileChargingKw: null, whileChargingAt: null });
    expect(settingsText(report)).not.toContain('at the most without the battery');
  });
});

describe('settings that the stated box can’t hold', () => {
  const night = { from: '00:00', to: '06:00' };
  const refused = async (schedules: object[], controller: object | undefined = BOX) => {
    const study = await carHome({}, controller);
    try {
      settings(study, { tried: { document: { schedules }, file: 'mine.yaml' } });
    } catch (error) {
      return (error as InputError).issues.map(({ code, where }) => [code, where.file, where.path?.join('.')]);
    }
    return [];
  };
  const two = { charge: night, carry: { from: '17:00', to: '22:00' } };

  test('more windows, seasons, days or finer times than it has', async () => {
    expect(await refused([two])).toEqual([['not-allowed', 'mine.yaml', 'schedules.0']]);
    expect(await refused([two], { windowsPerDay: 2 })).toEqual([]);
    expect(await refused([{ months: [1], charge: night }, { charge: night }])).toEqual([
      ['not-allowed', 'mine.yaml', 'schedules.1.months'],
    ]);
    expect(await refused([{ months: [1], charge: night }, { charge: night }], { ...BOX, seasons: 2 })).toEqual([]);
    expect(await refused([{ days: 'weekdays', charge: night }, { charge: night }])).toEqual([
      ['not-allowed', 'mine.yaml', 'schedules.0.days'],
    ]);
    expect(await refused([{ charge: { from: '01:00', to: '06:00' } }], { ...BOX, clockMinutes: 60 })).toEqual([]);
  });

  test('of a box that nobody has stated it isn’t known', async () => {
    const study = await carHome({});
    const { controller: _, ...plant } = study.site.plant!;
    const unstated = { ...study, site: { ...study.site, plant } };
    expect(settings(unstated, { tried: { document: { schedules: [two] } } }).tried).not.toBeNull();
  });
});

describe('settings that are tried', () => {
  test('tell the hours of the storm months and the wish as `outage` counts them, and who saves more in plain words', async () => {
    const pump = { name: 'Sump pump', watts: 800, leg: 'L1', dutyShare: 0.05, stormDutyShare: 0.6, priority: 1 };
    const backup = { circuits: [pump], stormMonths: [1], goalHours: 14 };
    const study = await carHome({ backup });
    const [month] = study.home.axis.calendar.month;
    const here = { ...study, site: { ...study.site, backup: { ...study.site.backup!, stormMonths: [month!] } } };
    const found = settings(here).sheet;
    const tried = { document: { reservePercent: 90, schedules: [{ charge: { from: '00:00', to: '06:00' } }] } };
    const report = settings(here, { tried });
    const { stormHours, sheetStormHours, hardAtWork, goalHours } = report.tried!;
    expect([hardAtWork, goalHours]).toEqual([['Sump pump'], 14]);
    expect(stormHours!).toBeGreaterThan(sheetStormHours!);
    const { frontier, headline } = outage(here, { floors: [] });
    expect(headline).toBe('settings');
    const own = frontier[0]!.strategies.find(({ strategy }) => strategy === 'settings')!;
    expect(found.reservePercent).toBe(Math.round(100 * frontier[0]!.floorShare));
    expect(sheetStormHours!).toBeCloseTo(own.stormHours!, 6);
    const text = flat(settingsText(report));
    expect(text).toContain('with "Sump pump" hard at work, your box lasts');
    expect(text).toContain('The 14.0 h asked for: with your box, not with the sheet below.');
    expect(text).toMatch(/On the same data the sheet below saves USD [\d.]+ more than your box/);
    expect(text).toContain('Does it buy to refill the reserve outside its charge windows?');
    const better = { ...report, inSample: { ...report.inSample, savings: report.tried!.savings! - 2.53 } };
    expect(flat(settingsText(better))).toMatch(/On the same data your box saves USD [\d.]+ more than the sheet below/);
  });

  test('most of a day over midnight is told as that', async () => {
    const study = await carHome();
    const schedules = [{ charge: { from: '02:00', to: '01:00', toPercent: 60 } }];
    const text = flat(settingsText(settings(study, { tried: { document: { schedules } } })));
    expect(text).toContain('charges 02:00–01:00 (next day) up to 60 %');
    const night = [{ charge: { from: '22:00', to: '06:00', toPercent: 60 } }];
    expect(flat(settingsText(settings(study, { tried: { document: { schedules: night } } })))).toContain(
      'charges 22:00–06:00 up to 60 %',
    );
  });
});
