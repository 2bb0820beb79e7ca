// Kept answers: see tests/support/kept.ts.
import { windowFill } from '@duskbank/core/dispatch';
import { backupNeeds, circuits, outage } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { keptReports } from '../../support/kept-reports.ts';
import { seedsFrom } from '../../support/kept-sites.ts';

test.each(seedsFrom(100, 30))('outages, circuits and needs on site %d', async (seed) => {
  expect(
    await keptReports(
      seed,
      {
        needs: (study) => backupNeeds(study),
        circuits: (study) => circuits(study),
        ...(seed % 2 === 0 ? { outage: (study) => outage(study) } : {}),
        ...(seed % 4 === 1
          ? { 'outage of one': (study) => outage(study, { strategies: [windowFill], floors: [0.3, 0.7] }) }
          : {}),
      },
      2,
    ),
  ).toMatchSnapshot();
});
