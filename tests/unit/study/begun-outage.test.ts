import { compare, outage, settings } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { outageText } from '../../../packages/cli/src/render/outage.ts';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';
import { twoPriceHome } from '../../support/two-price-home.ts';

// 8 kWh, 3 kW; an hour of notice is too short to fill up from the floor of 20 %.
const study = twoPriceHome({
  evening: () => 1,
  plant: { floor: { share: 0.2 } },
  backup: { reserve: { planned: [{ from: '2026-05-16T12:00', to: '2026-05-19T16:00', noticeHours: 1 }] } },
});

test.each([
  ['compare', (today: string) => compare(study, { today })],
  ['outage', (today: string) => outage(study, { today })],
  ['settings', (today: string) => settings(study, { today })],
])('%s warns of a short notice before a planned outage, and no more once it has begun', (_, report) => {
  const told = (today: string) => report(today).warnings.filter(({ code }) => code === 'planned-outage');
  expect(told('2026-05-15').map(({ message }) => message)).toEqual([
    expect.stringContaining('planned outage of 2026-05-16T12:00: 1 h of notice are too short'),
  ]);
  // Today is a date: of the day itself nobody knows.
  expect(told('2026-05-16')).toHaveLength(1);
  for (const today of ['2026-05-17', '2026-05-19']) expect(told(today), today).toEqual([]);
});

test('on the day itself nobody is told that notice is long enough, since the hour of now is not known', () => {
  const long = twoPriceHome({
    evening: () => 1,
    plant: { floor: { share: 0.2 } },
    backup: { reserve: { planned: [{ from: '2026-05-16T12:00', to: '2026-05-16T16:00', noticeHours: 48 }] } },
  });
  const flat = (text: string) => text.replace(/\s+/g, ' ');
  const outagePage = (today: string) => flat(outageText(outage(long, { today })));
  expect(outagePage('2026-05-15')).toContain('notice is long enough');
  expect(outagePage('2026-05-16')).not.toContain('notice is long enough');
  expect(outagePage('2026-05-16')).toContain('begins today: what is stored by 12:00 counts');
  const sheet = (today: string) => flat(settingsText(settings(long, { today })));
  expect(sheet('2026-05-15')).toContain('Now (2026-05-15) set the reserve to 100 %');
  expect(sheet('2026-05-16')).toContain('Before 12:00 today (2026-05-16) set the reserve to 100 %');
});
