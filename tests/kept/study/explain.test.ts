// Kept answers: see tests/support/kept.ts.
import { hold, optimum, peakShave, rolling, selfConsumption, windowFill } from '@duskbank/core/dispatch';
import { explain } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { keptReports } from '../../support/kept-reports.ts';
import { seedsFrom } from '../../support/kept-sites.ts';

const STRATEGIES = [windowFill, selfConsumption, peakShave(), hold, rolling({ everyHours: 4 }), optimum()];

test.each(seedsFrom(200, 30))('an interval explained on site %d', async (seed) => {
  const strategy = STRATEGIES[seed % STRATEGIES.length]!;
  const reports = Object.fromEntries(
    // Shares of the data; 1 stands for the second interval of all, 0 for the first.
    [0.05, 0.4, 0.72, 0.999, ...(seed % 4 === 0 ? [0, 1] : [])].map((share) => [
      `${strategy.name} at ${share}`,
      (study: Parameters<typeof explain>[0]) => {
        const { intervals } = study.home.axis;
        return explain(study, strategy, share === 1 ? 1 : Math.floor(share * intervals));
      },
    ]),
  );
  expect(await keptReports(seed, reports, seed < 206 ? 2 : 1)).toMatchSnapshot();
});
