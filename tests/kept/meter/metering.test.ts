// Kept answers: see tests/support/kept.ts.
import {
  adjustSeries,
  checkMetering,
  demandDays,
  estimatedShare,
  gapIntervals,
  type IntervalSeries,
  joinSeries,
  parseIntervalData,
  repairGaps,
  sumToStep,
  undoRepairs,
  writeIntervalCsv,
} from '@duskbank/core/meter';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { anySeries } from '../../support/interval-series.ts';
import { kept, keptEach, keptOf } from '../../support/kept.ts';
import { seedsFrom } from '../../support/kept-sites.ts';
import { makeMeteredHome, PLANTED, writeMonitorCsv } from '../../support/metered-home.ts';
import { generateHome, intervalCsv } from '../../support/panel/index.ts';

const HOMES = seedsFrom(1, 60)
  .map(makeMeteredHome)
  .filter(({ stepMinutes }) => stepMinutes === 60)
  .slice(0, 4);

test.each(PLANTED.flatMap((planted, p) => [p % 4, (p + 1) % 4].map((k) => [planted, k, HOMES[k]!] as const)))(
  '%s in home %d',
  (planted, _k, home) => {
    const text = writeMonitorCsv(home, planted);
    // A monitor's labels are starts; hours that begin with a day of standard time in summer are asked about.
    const read = text === undefined ? undefined : parseIntervalData(text, { zone: home.zone, intervalEnd: false });
    expect(
      kept(
        {
          faults: read?.series === undefined ? 'none' : checkMetering(read.series, home),
          'nothing known': read?.series === undefined ? 'none' : checkMetering(read.series, {}),
          findings: read?.findings,
        },
        3,
      ),
    ).toMatchSnapshot();
  },
);

/** A series without what follows from its axis. */
const bare = (series: IntervalSeries) => ({ ...series, axis: { ...series.axis, calendar: undefined } });

test.each(seedsFrom(30, 24))('home %d with gaps, filled, joined, turned round', async (seed) => {
  const home = generateHome(seed, { days: 15, stepMinutes: [15, 30, 60][seed % 3] as 15 });
  const lines = intervalCsv(home).split('\n');
  // Gaps of an hour, of an evening, of two days; a few readings marked as estimated.
  const gone = (i: number) =>
    i % 97 === 13 || (i > 200 && i < 200 + (seed % 5) * 4) || (seed % 4 === 0 && i > 250 && i < 300);
  const gappy = lines.map((line, i) => (i >= 4 && gone(i) ? line.replace(/,[^,]*/g, ',') : line)).join('\n');
  const { series } = parseIntervalData(gappy, { zone: home.zone });
  const whole = parseIntervalData(lines.join('\n'), { zone: home.zone }).series!;
  const repaired = repairGaps(series!, { maxGapHours: 4 + (seed % 3) * 22, likeDays: 2 + (seed % 4) });
  const calls = {
    gaps: () => gapIntervals(series!),
    repaired: () => ({ ...repaired, series: bare(repaired.series) }),
    undone: () => undoRepairs(repaired.series, repaired.repairs),
    share: () => estimatedShare(repaired.series, new Uint8Array(repaired.series.axis.intervals).fill(1, 20, 90)),
    demand: () => demandDays(repaired.series),
    joined: () => joinSeries([series!, whole]),
    hourly: () => bare(sumToStep(whole, 60, 0)),
    turned: () => adjustSeries(whole, { flipGrid: true, shiftMinutes: 60, scale: { import: 1.5 } }),
    'solar inside': () => adjustSeries(whole, { solarInLoad: true }),
  };
  expect(await keptEach(calls)).toMatchSnapshot();
});

test.each(fc.sample(anySeries, { seed: 20_260_909, numRuns: 30 }).map((series, k) => [k, series] as const))(
  'series %d written down',
  async (_k, series) => {
    expect(
      await keptOf(() => ({ text: writeIntervalCsv(series), faults: checkMetering(series, {}) })),
    ).toMatchSnapshot();
  },
);
