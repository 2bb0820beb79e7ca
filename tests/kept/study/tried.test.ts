// Kept answers: see tests/support/kept.ts.
import { settings } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { keptReports } from '../../support/kept-reports.ts';

const night = { from: '00:00', to: '05:00' };
const evening = { from: '16:00', to: '22:00' };

/** What somebody may read off a box, and what no box says. */
const SHEETS: readonly unknown[] = [
  { schedules: [] },
  { reservePercent: '35 %', chargeKw: 1.2, schedules: [{ charge: { ...night, toPercent: 60 }, carry: evening }] },
  {
    schedules: [
      { months: [4, 5, 6, 7, 8, 9], days: 'weekdays', charge: night, carry: evening },
      { months: [4, 5, 6, 7, 8, 9], days: 'weekends', carry: { from: '00:00', to: '24:00' } },
      { months: [1, 2, 3, 10, 11, 12], charge: { from: '22:00', to: '04:30', toPercent: 80 } },
    ],
  },
  { reservePercent: 100, chargeKw: 8, schedules: [{ charge: { ...night, toPercent: '90 %' } }] },
  { reservePercent: 0.2, schedules: [{ carry: evening }] },
  { chargeKw: 3000, schedules: [{ charge: night }] },
  { chargeKw: 900_000, schedules: [{ charge: night }] },
  { schedules: [{ charge: night, chargeTo: 80 }] },
  { schedules: [{ charge: '22:00', carry: '16:00' }] },
  { schedules: [{ charge: night, carry: evening }, { carry: evening }] },
];

test.each([9, 22])('sheets tried on site %d', async (seed) => {
  const reports = Object.fromEntries(
    SHEETS.map((document, k) => [
      `sheet ${k}`,
      (study: Parameters<typeof settings>[0]) => {
        const { tried, warnings } = settings(study, { today: '2026-05-05', tried: { document, file: 'box.json' } });
        return { tried, warnings };
      },
    ]),
  );
  expect(await keptReports(seed, reports, 3)).toMatchSnapshot();
});
