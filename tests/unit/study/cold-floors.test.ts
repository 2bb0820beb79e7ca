import { hold, selfConsumption } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { outage, settings } from '@duskbank/core/study';
import { evaluate } from '@duskbank/core/trial';
import { expect, test } from 'vitest';
import { outageText } from '../../../packages/cli/src/render/outage.ts';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

const TARIFF = {
  windows: [
    { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.4 },
    { name: 'rest', otherwise: true, pricePerKwh: 0.15 },
  ],
};
const HOURS = hoursOf(365, (h) => [h >= 17 && h < 21 ? 1 : 0.4, h >= 10 && h < 15 ? 1.5 : 0]);
/** Nothing is taken from November to March. */
const COLD = { limitC: 0, lowsC: [-9, -8, -3, 3, 6, 9, 12, 11, 7, 2, -2, -7] };
const MILD = { limitC: 0, lowsC: COLD.lowsC.map(() => 5) };

/** 4 kWh, of which 1.2 are kept, and more in some months. */
async function home(months: readonly number[] = [], cold: object = COLD, share = 0.6) {
  const backup = {
    load: { watts: 300 },
    cold,
    ...(months.length === 0 ? {} : { reserve: { byMonth: [{ months, share }] } }),
  };
  const plant = { floor: { share: 0.3 }, controller: { windowsPerDay: 1 } };
  const site = smallSite(HOURS, TARIFF, plant, {}, { backup });
  return (await loadSite(site.path, site.read)).study;
}
/** The interval that begins at noon of a day of the year, 1 for 1 January. */
const noon = (day: number) => (day - 1) * 24 + 12;

test('a floor of cold months is filled before the cold and held, and no run is given it on 1 January', async () => {
  const { flows } = evaluate((await home([12, 1, 2])).home, selfConsumption, ['flows']);
  // 0.6 · 4 kWh from 1 November (day 305) to the end of February (day 59).
  for (const day of [1, 14, 59, 305, 330, 354, 365]) expect(flows.socKwh[noon(day)], `day ${day}`).toBeCloseTo(2.4, 9);
});

test('data that begin in the cold start at the lowest floor since it came', async () => {
  // December alone keeps more: what is left of it in January is the floor that stands.
  const start = async (months: readonly number[], cold: object = COLD) =>
    (await home(months, cold)).home.plant.startKwh;
  expect(await start([1])).toBeCloseTo(2.4, 9);
  expect(await start([2])).toBeCloseTo(2.4, 9);
  expect(await start([12])).toBeCloseTo(1.2, 9);
  expect(await start([10])).toBeCloseTo(1.2, 9);
  // Where it can charge, only January's own floor counts.
  expect(await start([2], MILD)).toBeCloseTo(1.2, 9);
});

test.each([
  ['cold', COLD],
  ['mild', MILD],
])('a higher floor of the first months raises no savings, of any strategy or of the bound: %s', async (_, cold) => {
  const [plain, kept] = [await home([], cold), await home([12, 1, 2], cold)];
  for (const strategy of [hold, selfConsumption]) {
    const [before, after] = [plain, kept].map(({ home: at }) => evaluate(at, strategy, ['bill', 'bound']));
    expect(after!.bill.total, strategy.name).toBeGreaterThanOrEqual(before!.bill.total - 1e-9);
    expect(after!.bound.billTotal, strategy.name).toBeGreaterThanOrEqual(before!.bound.billTotal - 1e-9);
    expect(after!.bill.total, strategy.name).toBeGreaterThanOrEqual(after!.bound.billTotal - 1e-9);
  }
});

test('a full reserve has one value: full from the first day, at one price, whatever floor the site states', async () => {
  const bills: number[] = [];
  for (const months of [[], [12, 1, 2], [11, 12, 1, 2, 3]]) {
    const study = await home(months, COLD, months.length === 5 ? 1 : 0.6);
    const { flows, bill, backupHours } = evaluate(study.home, hold, ['flows', 'bill', 'backupHours']);
    expect(flows.socKwh.every((kwh) => Math.abs(kwh - 4) < 1e-9)).toBe(true);
    bills.push(bill.total);
    const report = outage(study, { strategies: [hold], floors: [1] });
    const full = report.frontier.at(-1)!;
    expect(full.strategies[0]!.allHours!.p10).toBeCloseTo(report.strategies[0]!.hours!.allHours.p10, 9);
    expect(full.strategies[0]!.planningHours).toBeCloseTo(report.strategies[0]!.planningHours.hours, 9);
    expect(Math.min(...backupHours!)).toBeGreaterThan(10);
  }
  expect(new Set(bills.map((bill) => bill.toFixed(2))).size).toBe(1);
});

test('the sheet sets a floor of cold months on the last day that can fill it', async () => {
  const report = settings(await home([12, 1, 2]));
  expect(report.sheet.dated.map(({ when, coldMonths }) => ({ when, coldMonths }))).toEqual([
    { when: { months: [11, 12, 1, 2], leadHours: 1 }, coldMonths: [11] },
  ]);
  const text = settingsText(report).replace(/\s+/g, ' ');
  expect(text).toContain('Every year on the last of Oct at 23:00 set the reserve to 60 %');
  expect(text).toContain('the site’s floor in Dec–Feb, held from the last day before the cold on that can fill it');
  // April is warm, but the evening before it isn't: no hour to fill in is named.
  expect(settings(await home([4])).sheet.dated[0]!.when).toEqual({ months: [4] });
});

test('a medical home has one answer for a planned outage in the cold, and is told that nothing fills it again then', async () => {
  const planned = [{ from: '2025-02-12T08:00', to: '2025-02-12T12:00', noticeHours: 48 }];
  const backup = (medical: boolean) => ({
    cold: COLD,
    circuits: [{ name: 'Concentrator', watts: 100, leg: 'L1', priority: 1, medical, neverShed: true }],
    reserve: { planned },
  });
  const studyOf = async (medical: boolean) => {
    const site = smallSite(HOURS, TARIFF, { floor: { share: 0.3 } }, {}, { backup: backup(medical) });
    return (await loadSite(site.path, site.read)).study;
  };
  const told = (study: Awaited<ReturnType<typeof home>>) =>
    study.warnings.filter(({ code }) => code === 'planned-outage').map(({ data }) => data.verdict);
  const study = await studyOf(true);
  const report = outage(study, { strategies: [hold], floors: [1] });
  expect(report.planned.map(({ verdict, carriesAll }) => [verdict, carriesAll])).toEqual([['in-time', true]]);
  expect(told(study)).toEqual([]);
  // Others aren't kept full, and can't be filled after the notice.
  expect(told(await studyOf(false))).toEqual(['too-cold']);
  const warned = study.warnings.find(({ code }) => code === 'too-cold-to-charge')!.message;
  expect(warned).toContain('What an outage takes in them isn’t filled again until they are over');
  const text = outageText(report, true).replace(/\s+/g, ' ');
  expect(text).toContain('Not in Nov–Mar: the cells are too cold');
});

test('of two planned outages in one cold the second finds what the first has left, however far apart they are', async () => {
  const at = (from: string) => ({ from: `${from}T08:00`, to: `${from}T12:00`, noticeHours: 48 });
  const planned = [at('2025-01-12'), at('2025-03-05'), at('2025-04-03'), at('2025-07-05')];
  const circuits = [{ name: 'Concentrator', watts: 100, leg: 'L1', priority: 1, medical: true, neverShed: true }];
  const backup = { cold: COLD, circuits, reserve: { planned } };
  const site = smallSite(HOURS, TARIFF, { floor: { share: 0.3 } }, {}, { backup });
  const { study } = await loadSite(site.path, site.read);
  const report = outage(study, { strategies: [hold], floors: [1] });
  // April has had two warm days to fill in.
  expect(report.planned.map(({ verdict }) => verdict)).toEqual(['in-time', 'cold-since-another', 'in-time', 'in-time']);
  const text = outageText(report, true);
  expect(text).toMatch(/2025-01-12 08:00 .* kept full, unless used since the cold began/);
  expect(text).toMatch(/2025-03-05 08:00 .* NOT full: too cold since another outage/);
  expect(text).toMatch(/2025-07-05 08:00 .* kept full before any notice/);
  expect(text).not.toContain('notice is long enough');
});

test.each([
  // An hour of October is left where filling takes about two.
  [['2025-10-31T12:00', '2025-10-31T23:00'], ['2025-11-01T16:00', '2025-11-01T23:00'], 'cold-since-another'],
  // Six hours of April are left, though the day of 24 hours since the last outage began in March.
  [['2025-03-10T08:00', '2025-03-10T15:00'], ['2025-04-01T06:00', '2025-04-01T10:00'], 'in-time'],
  [['2025-03-10T08:00', '2025-03-10T15:00'], ['2025-04-01T01:00', '2025-04-01T10:00'], 'cold-since-another'],
  // An hour between the two is too little whatever the weather.
  [['2025-03-10T08:00', '2025-03-10T15:00'], ['2025-03-10T16:00', '2025-03-10T20:00'], 'after-another'],
] as const)(
  'hours of warm months count between two outages, not days that began in one: %j, %j',
  async (one, two, verdict) => {
    const planned = [one, two].map(([from, to]) => ({ from, to, noticeHours: 48 }));
    const circuits = [{ name: 'Concentrator', watts: 100, leg: 'L1', priority: 1, medical: true, neverShed: true }];
    const backup = { cold: COLD, circuits, reserve: { planned } };
    const site = smallSite(HOURS, TARIFF, { floor: { share: 0.3 } }, {}, { backup });
    const { study } = await loadSite(site.path, site.read);
    expect(outage(study, { strategies: [hold], floors: [1] }).planned[1]!.verdict).toBe(verdict);
  },
);
