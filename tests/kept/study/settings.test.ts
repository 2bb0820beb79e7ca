// Kept answers: see tests/support/kept.ts.
import { settings } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { keptReports } from '../../support/kept-reports.ts';

const TRIED = {
  reservePercent: 20,
  schedules: [{ charge: { from: '00:00', to: '05:00' }, carry: { from: '16:00', to: '22:00' } }],
};

/** Sites with a controller of their own. */
const SEEDS = [9, 10, 11, 21, 22, 23, 33, 34, 35, 45, 46, 47, 57, 58, 59];

test.each(SEEDS)('settings on site %d', async (seed) => {
  expect(
    await keptReports(
      seed,
      {
        settings: (study) =>
          settings(study, {
            today: '2026-05-05',
            ...(seed % 3 === 0 ? { tried: { document: TRIED, file: 'box.json' } } : {}),
          }),
      },
      2,
    ),
  ).toMatchSnapshot();
});
