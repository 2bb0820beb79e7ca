import { loadSite } from '@duskbank/core/site';
import { compare, outage, settings } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { compareText } from '../../../packages/cli/src/render/compare.ts';
import { outageText } from '../../../packages/cli/src/render/outage.ts';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

const TARIFF = {
  windows: [
    { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.4 },
    { name: 'rest', otherwise: true, pricePerKwh: 0.15 },
  ],
};
const NO_SUN = hoursOf(365, (h) => [h >= 17 && h < 21 ? 1 : 0.4, 0]);
const SUN = hoursOf(60, (h) => [h >= 17 && h < 21 ? 1 : 0.4, h >= 10 && h < 15 ? 1 : 0]);
/** Nothing is taken from December to February. */
const COLD = { limitC: 0, lowsC: [-9, -8, 1, 3, 6, 9, 12, 11, 7, 2, 1, -7] };

async function homeOf(backup: object, { hours = NO_SUN, site = {} } = {}) {
  const plant = { floor: { share: 0.2 }, controller: { windowsPerDay: 1 } };
  const small = smallSite(hours, TARIFF, plant, {}, { backup: { load: { watts: 200 }, ...backup }, ...site });
  return (await loadSite(small.path, small.read)).study;
}

async function textOf(backup: object, today: string, more: { hours?: typeof NO_SUN; site?: object } = {}) {
  const study = await homeOf(backup, more);
  return settingsText(settings(study, { today })).replace(/\s+/g, ' ');
}

test('in the cold nobody is told to fill it before a day that has gone: what can be done today, and the year of the next', async () => {
  // Nothing may be given up for hours, so that it isn't held through the cold by itself.
  const spent = (today: string) => textOf({ cold: COLD }, today, { site: { dispatch: { sumForHoursPerYear: 0 } } });
  const begun = await spent('2030-12-20');
  expect(begun).toContain('which have begun by 2030-12-20');
  expect(begun).toContain('set the reserve to 100 % then');
  expect(begun).toContain('fill it before 1 Dec 2031');
  expect(begun).not.toContain('give it one on the last day before');
  expect(await spent('2031-01-20')).toContain('fill it before 1 Dec 2031');
  const ahead = await spent('2030-10-20');
  expect(ahead).not.toContain('begun');
  expect(ahead).toContain('fill it before 1 Dec 2030 and set the reserve to 100 %');
  const held = await textOf({ cold: COLD }, '2030-12-20');
  expect(held).toContain('By 2030-12-20 the cold has begun: set it to 100 % then');
  expect(await textOf({ cold: COLD }, '2030-10-20')).not.toContain('has begun');
});

test('a plan that begins in the cold is told so, whatever today is', async () => {
  const site = { startsOn: '2031-01-01', dispatch: { sumForHoursPerYear: 0 } };
  expect(await textOf({ cold: COLD }, '2030-04-01', { site })).toContain('which have begun by 2031-01-01');
});

test('a reserve of cold months is filled up to in the warm ones of them alone', async () => {
  const reserve = { byMonth: [{ months: [2, 3], share: 0.6 }] };
  const report = settings(await homeOf({ cold: COLD, reserve }), { today: '2030-06-01' });
  const [schedule] = report.sheet.schedules;
  const charge = { fromMinute: 60, toMinute: 300 };
  const low = { ...schedule!, months: [...Array(12).keys()].map((m) => m + 1), charge, chargeToPercent: 40 };
  const text = (months: number[]) =>
    settingsText({
      ...report,
      sheet: {
        ...report.sheet,
        schedules: [low],
        dated: report.sheet.dated.map((dated) => ({ ...dated, when: { months } })),
      },
    }).replace(/\s+/g, ' ');
  expect(text([2, 3])).toContain('In Mar, with the reserve at 60 % (below), it fills up to that.');
  expect(text([1, 2])).not.toContain('it fills up to that');
});

test('planned outages that are over are said to be in the figures: no dates are promised that the page doesn’t list', async () => {
  const planned = ['03', '06'].map((month) => {
    const day = `2025-${month}-15`;
    return { from: `${day}T08:00`, to: `${day}T16:00`, noticeHours: 48 };
  });
  const reserve = { planned };
  const over = await textOf({ reserve }, '2031-01-20');
  expect(over).toContain('the planned outages of 2025-03-15, 2025-06-15 are in the figures, and are over');
  expect(over).not.toContain('set by hand at its dates');
  expect(over).not.toContain('Where two reserves meet');
  const ahead = await textOf({ reserve }, '2025-01-02');
  expect(ahead).toContain('the reserve set by hand at its dates');
  expect(ahead).not.toContain('and are over');
  expect(ahead).toContain('Where two reserves meet');
  const one = await textOf({ reserve }, '2025-05-01');
  expect(one).toContain('at its dates; the planned outage of 2025-03-15 is in the figures, and is over');
  expect(one).not.toContain('Where two reserves meet');
});

test('a battery kept full for a medical circuit must fill at any hour, and be looked at after an outage', async () => {
  const circuits = [{ name: 'Concentrator', watts: 350, leg: 'L1', priority: 1, medical: true }];
  const text = await textOf({ load: undefined, circuits }, '2031-01-20');
  expect(text).toContain('Let it fill from the grid at once and at any hour');
  expect(text).toContain('Look after each outage whether it is full again');
});

test('own solar is told to a home that has it', async () => {
  expect(await textOf({}, '2031-01-20')).not.toContain('own solar');
  expect(await textOf({}, '2031-01-20', { hours: SUN })).toContain('own solar on');
});

test('`compare` and `outage` know today as `settings` does: outages that are over are said to be, and nobody is warned of them', async () => {
  const planned = ['03', '06'].map((month) => ({
    from: `2025-${month}-15T08:00`,
    to: `2025-${month}-15T16:00`,
    noticeHours: 1,
  }));
  const study = await homeOf({ reserve: { planned } });
  const at = (today?: string) => {
    const report = compare(study, { today });
    const text = compareText(report).replace(/\s+/g, ' ');
    return {
      text,
      basis: report.headline!.basis,
      warned: report.warnings.filter(({ code }) => code === 'planned-outage'),
    };
  };
  const over = at('2031-01-20');
  expect(over.text).toContain(
    'prints; the planned outages of 2025-03-15, 2025-06-15 are in the figures, and are over.',
  );
  expect(over.text).not.toContain('set by hand');
  expect(over.basis).toContain('with planned outages that are over');
  expect(over.basis).not.toContain('set by hand');
  expect(over.warned).toEqual([]);
  const one = at('2025-05-01');
  expect(one.text).toContain(
    'prints, with the reserve set by hand at its dates; the planned outage of 2025-03-15 is in the figures, and is over.',
  );
  expect(one.warned).toMatchObject([{ data: { from: '2025-06-15T08:00' } }]);
  // The day itself isn't over.
  expect(at('2025-06-15').warned).toHaveLength(1);
  expect(at('2025-06-16').warned).toEqual([]);
  const unknown = at();
  expect(unknown.text).toContain('prints, with the reserve set by hand at its dates.');
  expect(unknown.warned).toHaveLength(2);
  expect(outage(study, { today: '2025-05-01', floors: [0.2] }).planned.map(({ from }) => from)).toEqual([
    '2025-06-15T08:00',
  ]);
  expect(settings(study, { today: '2025-05-01' }).warnings).toMatchObject([
    ...settings(study, { today: '2031-01-20' }).warnings,
    { data: { from: '2025-06-15T08:00' } },
  ]);
});

test('one year is told by hand, from today on or from a later start of the plan: outages, clock and cold alike', async () => {
  const planned = ['2025-03-01', '2025-03-25'].map((day) => ({
    from: `${day}T08:00`,
    to: `${day}T16:00`,
    noticeHours: 240,
  }));
  const told = async (today: string | undefined, site: object = {}) =>
    settings(await homeOf({ cold: COLD, reserve: { planned } }, { site: { zone: 'America/Denver', ...site } }), {
      today,
    }).year;
  // Today in the midst of the data: clock changes and cold of this year too, not of the year after the data.
  const ahead = await told('2025-02-10');
  expect(ahead.every(({ on }) => on >= '2025-02-10' && on <= '2026-02-10')).toBe(true);
  expect(ahead.filter(({ what }) => what === 'clock-change').map(({ on }) => on)).toEqual(['2025-03-09', '2025-11-02']);
  expect(ahead.filter(({ what, months }) => what === 'reserve' && months === null).length).toBeGreaterThanOrEqual(2);
  const dates = (year: typeof ahead) => year.map(({ on }) => on);
  // A plan that begins later: all of it from then on, and the outage before it isn't told.
  const later = await told('2025-02-10', { startsOn: '2025-03-20' });
  expect(dates(later).every((on) => on >= '2025-03-20' && on <= '2026-03-20')).toBe(true);
  expect(dates(await told(undefined, { startsOn: '2025-03-20' }))).toEqual(dates(later));
});

test('a reserve whose notice has passed is set now', async () => {
  const planned = [{ from: '2025-03-25T08:00', to: '2025-03-25T16:00', noticeHours: 240 }];
  const at = (today: string) => textOf({ reserve: { planned } }, today);
  expect(await at('2025-03-10')).toContain('From 2025-03-15 08:00 set the reserve to 100 %');
  expect(await at('2025-03-15')).toContain('From 2025-03-15 08:00 set the reserve to 100 %');
  expect(await at('2025-03-24')).toContain(
    '- Now (2025-03-24) set the reserve to 100 %, back to 20 % after 2025-03-25 16:00',
  );
});

test('a planned outage that has begun is told nothing that its time has passed for', async () => {
  const planned = [{ from: '2026-11-27T06:00', to: '2026-11-28T17:00', noticeHours: 24 }];
  const study = await homeOf({ reserve: { planned } });
  const sheet = (today: string) => settingsText(settings(study, { today })).replace(/\s+/g, ' ');
  const page = (today: string) => outageText(outage(study, { today, floors: [0.2] }), true).replace(/\s+/g, ' ');
  expect(sheet('2026-11-28')).toContain(
    'Now (2026-11-28): the planned outage from 2026-11-27 06:00 has begun, and the grid is due back at 2026-11-28 17:00. Till then nothing fills the battery from the grid: what is stored counts, so switch off what can wait. When the grid is back, have the reserve at 20 %.',
  );
  expect(page('2026-11-28')).toMatch(
    /2026-11-27 06:00 24 h has begun: what is stored counts 35\.0 h long, the grid due back at 2026-11-28 17:00; till then nothing fills from the grid: switch off what can wait\./,
  );
  // On its first day nobody knows, since today is a date.
  expect(sheet('2026-11-27')).toContain('Before 06:00 today (2026-11-27) set the reserve to 100 %');
  expect(page('2026-11-27')).not.toContain('has begun');
});
