import { outage, settings } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';
import { unattendedStarts } from '../../../packages/core/src/study/by-hand.ts';
import { twoPriceHome } from '../../support/two-price-home.ts';

const study = (transfer: Record<string, unknown>, appliance = 'refrigerator') =>
  twoPriceHome({
    evening: () => 1,
    days: 14,
    backup: {
      circuits: [{ name: 'Kitchen', appliance, watts: 150, leg: 'L1', priority: 1 }],
      transfer,
      goalHours: 4,
    },
  });
const away = { from: '08:00', to: '17:00' };

describe('with nobody home to change over by hand', () => {
  test('the starts are those of the stated hours, on weekdays or on all days, over midnight of the day on which they begin', () => {
    const shareOf = (of: Record<string, unknown>) => {
      const starts = unattendedStarts(study({ kind: 'manual', away: of }))!;
      return (starts.reduce((sum, one) => sum + one, 0) / starts.length) * 168;
    };
    expect(shareOf(away)).toBeCloseTo(45, 9);
    expect(shareOf({ ...away, days: 'all' })).toBeCloseTo(63, 9);
    expect(shareOf({ from: '22:00', to: '06:00' })).toBeCloseTo(40, 9);
    const night = study({ kind: 'manual', away: { from: '22:00', to: '06:00' } });
    const starts = unattendedStarts(night)!;
    const { weekday, minuteOfDay } = night.home.axis.calendar;
    const at = (day: number, hour: number) =>
      starts[weekday.findIndex((d, i) => d === day && minuteOfDay[i] === 60 * hour)];
    expect([at(1, 3), at(6, 3), at(7, 3), at(5, 22), at(6, 22)]).toEqual([0, 1, 0, 1, 0]);
  });

  test('there are none where it changes over by itself, where nobody said when, and where no circuit minds', () => {
    expect(unattendedStarts(study({ kind: 'automatic', away }))).toBeUndefined();
    expect(unattendedStarts(study({ kind: 'manual' }))).toBeUndefined();
    expect(unattendedStarts(study({ kind: 'manual', away }, 'television'))).toBeUndefined();
  });

  test('hours asked for are met by no more than the starts that find somebody', () => {
    const met = outage(study({ kind: 'automatic' }));
    const byHand = outage(study({ kind: 'manual', away }));
    expect(met.goal!.allShare).toBeGreaterThan(0.95);
    expect(byHand.goal!.allShare).toBeCloseTo(met.goal!.allShare! - 45 / 168, 6);
    expect(byHand.goal!.eveningsShare).toBe(met.goal!.eveningsShare);
    expect([byHand.transfer.unattendedShare, byHand.storm!.unattendedShare]).toEqual([45 / 168, 45 / 168]);
    expect([met.transfer.unattendedShare, met.storm!.unattendedShare]).toEqual([null, null]);
  });

  test('the page of settings says which starts its hours leave out', () => {
    const tried = {
      document: { reservePercent: 20, schedules: [{ charge: { from: '00:00', to: '05:00' } }] },
      file: 'box.json',
    };
    const pageOf = (transfer: Record<string, unknown>) => {
      const report = settings(study(transfer), { tried });
      return { share: report.unattendedShare, page: settingsText(report).replace(/\s+/g, ' ') };
    };
    const byHand = pageOf({ kind: 'manual', away });
    expect(byHand.share).toBe(45 / 168);
    const said = 'count on somebody home to change over by hand: of all starts 27 % find nobody';
    expect(byHand.page).toContain(`at any hour. These hours ${said}`);
    expect(byHand.page).toContain(`All hours ${said}`);
    const byItself = pageOf({ kind: 'automatic' });
    expect(byItself.share).toBeNull();
    expect(byItself.page).not.toContain('somebody home');
  });
});
