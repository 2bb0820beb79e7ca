import { followSheet } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { compare, outage, settings } from '@duskbank/core/study';
import { evaluate } from '@duskbank/core/trial';
import { expect, test } from 'vitest';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

const TARIFF = {
  windows: [
    { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.4 },
    { name: 'rest', otherwise: true, pricePerKwh: 0.15 },
  ],
};
const HOURS = hoursOf(365, (h) => [h >= 17 && h < 21 ? 1 : 0.4, 0]);
/** Nothing is taken from December to February. */
const COLD = { limitC: 0, lowsC: [-9, -8, 1, 3, 6, 9, 12, 11, 7, 2, 1, -7] };

/** 4 kWh, of which 0.8 are kept all year. */
async function home(more: { backup?: object; site?: object; cold?: object } = {}) {
  const backup = { load: { watts: 200 }, cold: COLD, ...more.backup };
  const plant = { floor: { share: 0.2 }, controller: { windowsPerDay: 1 } };
  const site = smallSite(HOURS, TARIFF, plant, {}, { backup, ...more.site });
  return (await loadSite(site.path, site.read)).study;
}

test('where the cold lets nothing back in, the sheet keeps all of it through those months: it costs little and lasts', async () => {
  const study = await home();
  const report = settings(study);
  const held = report.lights!.heldInCold!;
  expect(held.taken).toBe(true);
  expect(report.sheet.dated).toMatchObject([
    { reason: 'months', when: { months: [12, 1, 2] }, reservePercent: 100, thenPercent: 20, heldInCold: true },
  ]);
  // Full from 30 November to 28 February, those at the beginning of the data too.
  const { flows } = evaluate(study.home, followSheet(report.sheet), ['flows']);
  const { month } = study.home.axis.calendar;
  expect(flows.socKwh.every((kwh, i) => ![12, 1, 2].includes(month[i]!) || kwh > 4 - 1e-9)).toBe(true);
  // 4 kWh at 0.2 kW are 20 h; the 0.8 kWh that were left before are 4 h.
  expect(held.hours).toBeGreaterThan(held.hoursWithout + 1);
  expect(held.hoursWithout).toBeCloseTo(4, 6);
  // Within what may be given up for hours; judged on the whole bill, energy of the first days included.
  expect(held.costPerYear).toBeLessThan(report.lights!.mostPerYear);
  expect(report.lights!.hours).toBe(held.hours);
  // One sheet, wherever it is asked for.
  expect(compare(study).headline!.savings).toBe(report.expected.savings);
  const text = settingsText(report).replace(/\s+/g, ' ');
  expect(text).toMatch(
    /Every year on the last of Nov at 2\d:00 set the reserve to 100 %.* back to 20 % on 1 Mar 00:00/,
  );
  expect(text).toContain('the cells are too cold to charge then, and what is spent doesn’t come back');
  expect(text).not.toContain('Where outages matter more than savings, fill it before');
});

test('what is held through the cold is held at every other standing reserve too, so that more of it never lasts less', async () => {
  const study = await home();
  const { frontier } = outage(study, { floors: [0.1, 0.4, 0.6, 0.9], headline: 'settings' });
  const rows = frontier.map(({ strategies }) => strategies.find((row) => row.strategy === 'settings')!);
  expect(rows).toHaveLength(5);
  for (const [k, row] of rows.entries()) {
    const before = rows[k - 1];
    if (before === undefined) continue;
    expect(row.savingsPerYear!).toBeLessThanOrEqual(before.savingsPerYear! + 1e-9);
    for (const of of ['evenings', 'allHours'] as const)
      expect(row[of]!.p10, `${of} of row ${k}`).toBeGreaterThanOrEqual(before[of]!.p10 - 1e-9);
    expect(row.worstMonthHours!).toBeGreaterThanOrEqual(before.worstMonthHours! - 1e-9);
  }
});

test('a planned outage in the cold isn’t told to fill before it where the sheet does so already', async () => {
  const planned = [{ from: '2025-12-10T10:00', to: '2025-12-10T14:00', noticeHours: 24 }];
  const text = (report: ReturnType<typeof settings>) => settingsText(report).replace(/\s+/g, ' ');
  const held = settings(await home({ backup: { reserve: { planned } } }));
  expect(held.sheet.dated.some(({ heldInCold }) => heldInCold)).toBe(true);
  expect(text(held)).toContain('it is full already');
  expect(text(held)).not.toContain('To have it full');
  const site = { dispatch: { sumForHoursPerYear: 0.01 } };
  expect(text(settings(await home({ backup: { reserve: { planned } }, site })))).toContain('To have it full');
});

test('what may be given up goes to holding and fuller targets together, and the price is that of the printed sheet with and without it', async () => {
  // Summer evenings leave little too, so that holding alone lasts no longer.
  const tariff = {
    windows: [
      { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.4 },
      { name: 'night', from: '23:00', to: '06:00', pricePerKwh: 0.1 },
      { name: 'rest', otherwise: true, pricePerKwh: 0.2 },
    ],
    export: { kind: 'net-billing', pricePerKwh: 0.08 },
  };
  const sunOn = (day: number) => 0.6 - 0.4 * Math.cos((2 * Math.PI * day) / 365);
  for (const [peakKwh, least] of [
    [0.3, 4.9],
    [1.2, 5.9],
  ] as const) {
    const hours = hoursOf(365, (h, day) => [
      h >= 17 && h < 21 ? 0.7 : 0.2,
      h >= 9 && h < 16 ? peakKwh * sunOn(day) : 0,
    ]);
    const plant = { floor: { share: 0.1 }, controller: { windowsPerDay: 1, seasons: 2 } };
    const site = smallSite(hours, tariff, plant, {}, { backup: { load: { watts: 200 }, cold: COLD } });
    const { study } = await loadSite(site.path, site.read);
    const { sheet, lights } = settings(study);
    expect(lights!.heldInCold).toMatchObject({ taken: true, hours: lights!.hours });
    expect(lights!.hours).toBeGreaterThan(least);
    expect(lights!.givenUpPerYear).toBeLessThanOrEqual(lights!.mostPerYear);
    const billWith = (dated: typeof sheet.dated) =>
      evaluate(study.home, followSheet({ ...sheet, dated }), ['bill']).bill.total;
    const cost = billWith(sheet.dated) - billWith(sheet.dated.filter((one) => one.heldInCold !== true));
    // Bills are rounded by the month.
    expect(Math.abs(lights!.heldInCold!.costPerYear - cost)).toBeLessThan(0.06);
    expect(cost).toBeGreaterThan(1);
  }
});

test('a storm in the cold finds what the headline’s run has left: all of it where the sheet holds it', async () => {
  const held = compare(await home()).storm!.cold!;
  const spent = compare(await home({ site: { dispatch: { sumForHoursPerYear: 0.01 } } })).storm!.cold!;
  expect([held, spent]).toMatchObject([
    { months: [1, 2, 12], held: true },
    { months: [1, 2, 12], held: false },
  ]);
  // 0.2 kW from the 0.8 kWh of the reserve, and from nearly all of 4 kWh.
  expect(spent.hours).toBeCloseTo(4, 6);
  expect(held.hours).toBeGreaterThan(15);
});

test('where it costs more than may be given up it is priced, and not entered', async () => {
  // Before the cold begins: in it there is another line.
  const report = settings(await home({ site: { dispatch: { sumForHoursPerYear: 0.01 } } }), { today: '2026-10-20' });
  const held = report.lights!.heldInCold!;
  expect(held.taken).toBe(false);
  expect(report.sheet.dated).toEqual([]);
  expect(held.costPerYear).toBeGreaterThan(0.01);
  expect(held.hours).toBeGreaterThan(held.hoursWithout + 1);
  const text = settingsText(report).replace(/\s+/g, ' ');
  expect(text).toMatch(
    /set the reserve to 100 % until the cold is over \(USD \d+\.\d\d a year more, for [\d.]+ h in 9 of 10 outages in place of [\d.]+ h\)/,
  );
});

test('no such choice where no month is too cold, or all of it is kept anyway', async () => {
  const mild = { limitC: 0, lowsC: COLD.lowsC.map(() => 5) };
  expect(settings(await home({ backup: { cold: mild } })).lights!.heldInCold).toBeNull();
  const reserve = { byMonth: [{ months: [12, 1, 2], share: 1 }] };
  const kept = settings(await home({ backup: { reserve } }));
  expect(kept.lights!.heldInCold).toBeNull();
  expect(kept.sheet.dated).toMatchObject([{ when: { months: [12, 1, 2] }, reservePercent: 100 }]);
});

test('a charge target below the reserve is printed as what the box does', async () => {
  // The sun fills it by noon: a window is entered so that the morning carries nothing, not to buy: the night costs more
  // than the sun is sold for.
  const sunny = hoursOf(60, (h) => [0.2, h >= 9 && h < 15 ? 1.2 : 0]);
  const tariff = {
    windows: [
      { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.4 },
      { name: 'night', from: '23:00', to: '05:00', pricePerKwh: 0.13 },
      { name: 'rest', otherwise: true, pricePerKwh: 0.15 },
    ],
    export: { kind: 'net-billing', pricePerKwh: 0.12 },
  };
  const plant = { floor: { share: 0.74 }, controller: { windowsPerDay: 1 } };
  const site = smallSite(
    sunny,
    tariff,
    plant,
    {},
    { backup: { load: { watts: 200 } }, dispatch: { sumForHoursPerYear: 0 } },
  );
  const report = settings((await loadSite(site.path, site.read)).study);
  expect(report.sheet).toMatchObject({ reservePercent: 74, schedules: [{ chargeToPercent: 74 }] });
  expect(settingsText(report)).toMatch(/\d\d:00–17:00 {2,}74 %/);
});

test('hours after the cold are of what there is until it has filled again: a storm on its first days finds no full battery', async () => {
  const slow = {
    battery: { units: 1, usableKwh: 4, chargeKw: 0.03, dischargeKw: 2, roundTripEfficiency: 1, standbyW: 0 },
  };
  const at = async (stormMonths: number[]) => {
    const backup = { load: { watts: 200 }, cold: COLD, stormMonths };
    const plant = { floor: { share: 0.2 }, controller: { windowsPerDay: 1 }, ...slow };
    const more = { backup, dispatch: { sumForHoursPerYear: 0.01 } };
    const site = smallSite(HOURS, TARIFF, plant, {}, more);
    return compare((await loadSite(site.path, site.read)).study).storm!;
  };
  // 3.2 kWh at 0.03 kW are 107 h, more than a tenth of March.
  const [march, july] = [await at([3]), await at([7])];
  expect(march.fillHours).toBeCloseTo(3.2 / 0.03, 6);
  expect(july.hours).toBeCloseTo(20, 6);
  expect(march.hours).toBeGreaterThan(4 - 1e-6);
  expect(march.hours).toBeLessThan(19);
  // What it carries once it is full is the same.
  expect(march.planningHours).toBeCloseTo(july.planningHours, 9);
});

test('notice in the cold is none: an outage soon after it is no outage that the battery can fill for', async () => {
  const verdictAt = async (from: string, to: string, more: object = {}, noticeHours = 24) => {
    const reserve = { planned: [{ from, to, noticeHours }] };
    const study = await home({ backup: { reserve }, site: { dispatch: { sumForHoursPerYear: 0.01 }, ...more } });
    const { sheet, warnings } = settings(study);
    const told = warnings.find(({ code }) => code === 'planned-outage')?.data.verdict;
    return [sheet.dated.find(({ outage: one }) => one !== null)!.outage!.verdict, told];
  };
  // 3.2 kWh at 2 kW take 1.6 h.
  expect(await verdictAt('2026-03-01T01:00', '2026-03-01T04:00')).toEqual(['too-cold', 'too-cold']);
  expect(await verdictAt('2026-03-01T02:00', '2026-03-01T04:00')).toEqual(['in-time', undefined]);
  // In July 1.7 h of notice are enough, though they are no whole quarters.
  expect(await verdictAt('2026-07-01T02:00', '2026-07-01T04:00', {}, 1.7)).toEqual(['in-time', undefined]);
  // Within the data, where the service leaves 0.6 kW beside the load at night: 5.4 h.
  const service = { service: { importLimitKw: 1 } };
  expect(await verdictAt('2025-03-01T05:00', '2025-03-01T08:00', service)).toEqual(['too-cold', 'too-cold']);
  expect(await verdictAt('2025-03-01T06:00', '2025-03-01T08:00', service)).toEqual(['in-time', undefined]);
});
