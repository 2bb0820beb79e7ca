// Planned outages that the data don't reach cost what no figure holds: told once, however many they are.
import { loadSite } from '@duskbank/core/site';
import { compare, settings } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

const TARIFF = {
  windows: [
    { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.4 },
    { name: 'rest', otherwise: true, pricePerKwh: 0.15 },
  ],
};

/** Twice a week for a year, on Tuesdays and Fridays of the year after the data. */
const TWICE_A_WEEK = Array.from({ length: 104 }, (_, k) => {
  const day = new Date(Date.UTC(2026, 0, 6) + (Math.floor(k / 2) * 7 + (k % 2) * 3) * 86_400_000);
  const date = day.toISOString().slice(0, 10);
  return { from: `${date}T10:00`, to: `${date}T14:00`, noticeHours: 24 };
});

test('a hundred outages beyond the data are one warning, that their cost is not in the savings', async () => {
  const backup = { load: { watts: 200 }, reserve: { planned: TWICE_A_WEEK } };
  const site = smallSite(
    hoursOf(60, (h) => [h >= 17 && h < 21 ? 1 : 0.4, 0]),
    TARIFF,
    { floor: { share: 0.2 } },
    {},
    { backup },
  );
  const { study } = await loadSite(site.path, site.read);
  for (const { warnings } of [compare(study), settings(study)]) {
    const told = warnings.filter(({ code }) => code.startsWith('planned-outage'));
    expect(told.map(({ code, data }) => [code, data.outages])).toEqual([['planned-outages-beyond', 104]]);
    expect(told[0]!.message).toBe(
      'planned outages: 104 of the list, 2026-01-06T10:00 to 2027-01-01T14:00, lie beyond the data: what keeping the battery full for them costs is not in the savings',
    );
  }
});
