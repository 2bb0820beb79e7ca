// Kept answers: see tests/support/kept.ts.
import { windowFill } from '@duskbank/core/dispatch';
import { backupNeeds, circuits, outage } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { keptReports } from '../../support/kept-reports.ts';
import { keptSite, seedsFrom } from '../../support/kept-sites.ts';

/** Without some that take seconds. */
const SEEDS = seedsFrom(100, 29).filter((seed) => ![100, 104, 106, 108].includes(seed));

test.each(SEEDS)('outages, circuits and needs on site %d', async (seed) => {
  const hasCircuits = 'circuits' in ((keptSite(seed).document.backup ?? {}) as object);
  expect(
    await keptReports(
      seed,
      {
        needs: (study) => backupNeeds(study),
        ...(hasCircuits ? { circuits: (study) => circuits(study) } : {}),
        ...(seed % 2 === 0 ? { outage: (study) => outage(study) } : {}),
        ...(seed % 4 === 1
          ? { 'outage of one': (study) => outage(study, { strategies: [windowFill], floors: [0.3, 0.7] }) }
          : {}),
      },
      2,
    ),
  ).toMatchSnapshot();
});
