import { settings } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { settingsText } from '../../packages/cli/src/render/settings.ts';
import { twoPriceHome } from '../support/two-price-home.ts';

describe('a clock window over midnight', () => {
  const report = settings(twoPriceHome({ evening: () => 2, plant: { controller: { windowsPerDay: 2 } } }));
  const night = { charge: { fromMinute: 22 * 60, toMinute: 7 * 60 }, chargeToPercent: 100, discharge: null };
  const textOf = (days: 'every day' | 'weekdays', windowsPerDay: number) =>
    settingsText({
      ...report,
      controller: { ...report.controller, windowsPerDay },
      sheet: { ...report.sheet, schedules: [{ months: [4, 5], days, ...night }] },
    });

  test('is one window where all days are alike', () => {
    expect(textOf('every day', 1)).toMatch(/every day +22:00–07:00 +100 %/);
  });

  test('is printed in two where days differ: whose morning it is would be a guess', () => {
    expect(textOf('weekdays', 2)).toMatch(/weekdays +00:00–07:00, 22:00–24:00 +100 %/);
  });

  test('is marked where the box takes one window only', () => {
    const text = textOf('weekdays', 1);
    expect(text).toMatch(/weekdays +22:00–07:00 \* +100 %/);
    expect(text.replace(/\s+/g, ' ')).toContain('after midnight are of the days named here');
  });
});
