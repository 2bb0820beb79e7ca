import { loadSite } from '@duskbank/core/site';
import { outage, settings } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

const TARIFF = {
  windows: [
    { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.4 },
    { name: 'rest', otherwise: true, pricePerKwh: 0.15 },
  ],
};

async function studyOf(planned: readonly object[]) {
  const site = smallSite(
    hoursOf(120, () => [0.4, 0]),
    TARIFF,
    { floor: { share: 0.1 }, controller: { windowsPerDay: 1 } },
    {},
    { backup: { load: { watts: 300 }, reserve: { planned } } },
  );
  return (await loadSite(site.path, site.read)).study;
}
const of = (from: string, to: string, noticeHours = 24) => ({ from, to, noticeHours });

describe('planned outages that touch or overlap are one for the battery', () => {
  // 4 kWh carry 300 W for some 13 h: each of 8 h alone, both together not.
  test.each([
    [
      'touch',
      of('2025-03-04T08:00', '2025-03-04T16:00'),
      of('2025-03-04T16:00', '2025-03-05T00:00'),
      '2025-03-05T00:00',
    ],
    [
      'overlap',
      of('2025-03-04T08:00', '2025-03-04T16:00'),
      of('2025-03-04T10:00', '2025-03-04T19:00'),
      '2025-03-04T19:00',
    ],
    [
      'lie in one another',
      of('2025-03-04T08:00', '2025-03-04T18:00'),
      of('2025-03-04T10:00', '2025-03-04T12:00'),
      '2025-03-04T18:00',
    ],
  ])('those that %s', async (_, first, second, to) => {
    for (const planned of [
      [first, second],
      [second, first],
    ]) {
      const study = await studyOf(planned);
      const report = outage(study, { floors: [], headline: 'settings' });
      expect(report.planned).toMatchObject([{ from: first.from, to, verdict: 'in-time' }]);
      const alone = outage(await studyOf([of(first.from, to)]), { floors: [], headline: 'settings' });
      expect(report.planned).toEqual(alone.planned);
      expect(settings(study).sheet.dated).toEqual(settings(await studyOf([of(first.from, to)])).sheet.dated);
      const told = study.warnings.filter(({ code }) => code === 'planned-outages-joined');
      expect(told.map(({ data }) => data)).toEqual([{ from: first.from, to, outages: 2 }]);
    }
  });

  test('what is too long together is not carried, though each of both would be', async () => {
    const both = [of('2025-03-04T08:00', '2025-03-04T16:00'), of('2025-03-04T16:00', '2025-03-05T00:00')];
    const together = outage(await studyOf(both), { floors: [], headline: 'settings' });
    const first = outage(await studyOf(both.slice(0, 1)), { floors: [], headline: 'settings' });
    expect(first.planned[0]!.carriesAll).toBe(true);
    expect(together.planned[0]!.carriesAll).toBe(false);
  });

  test('an hour between them leaves them two', async () => {
    const two = [of('2025-03-04T08:00', '2025-03-04T16:00'), of('2025-03-04T17:00', '2025-03-04T20:00')];
    const study = await studyOf(two);
    expect(outage(study, { floors: [], headline: 'settings' }).planned.map(({ verdict }) => verdict)).toEqual([
      'in-time',
      'after-another',
    ]);
    expect(study.warnings.some(({ code }) => code === 'planned-outages-joined')).toBe(false);
  });
});
