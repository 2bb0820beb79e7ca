// Kept answers: see tests/support/kept.ts.
import { compare, headlineStrategy, wearStrategies } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { keptReports } from '../../support/kept-reports.ts';
import { seedsFrom } from '../../support/kept-sites.ts';

test.each(seedsFrom(0, 30))('compare on site %d', async (seed) => {
  expect(
    await keptReports(
      seed,
      {
        compare: (study) => compare(study),
        headline: (study) => headlineStrategy(study).name,
        ...(seed % 12 === 3 ? { wear: (study) => compare(study, { strategies: wearStrategies(study, true) }) } : {}),
      },
      2,
    ),
  ).toMatchSnapshot();
});
