// Faults planted into the data of random homes, read as files and looked for. By default a few homes; with
// DUSKBANK_HOMES=200 the table of docs/concepts/validation-meter.md comes out.
import { checkMetering, parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { makeMeteredHome, PLANTED, type Planted, writeMonitorCsv } from '../../support/metered-home.ts';

const HOMES = Number(process.env.DUSKBANK_HOMES ?? 8);

/** Where little is exported, solar that is counted once shows in nothing: that fault is reported, not promised. */
const FEWEST = Object.fromEntries(
  PLANTED.map((planted) => [planted, planted === 'solar counted once' ? 0.7 : 0.95]),
) as Record<Planted, number>;

/** What counts as found. A leg the wrong way round may look like one that is missing: both send someone to look. */
const FOUND: Record<Exclude<Planted, 'clean'>, readonly string[]> = {
  'grid reversed': ['grid-reversed'],
  'solar reversed': ['solar-negative'],
  'one leg reversed': ['leg-reversed', 'leg-missing'],
  'leg missing': ['leg-missing', 'leg-reversed'],
  'solar and grid swapped': ['solar-grid-swapped'],
  'clock an hour late': ['clock-shifted'],
  'clock two hours early': ['clock-shifted'],
  'clock without daylight saving': ['clock-without-dst'],
  'solar counted once': ['solar-half'],
  'solar inside load': ['solar-in-load'],
};

test(`planted faults are found in at least 95 % of ${HOMES} homes, clean ones raise at most 1 %`, () => {
  const table = new Map<Planted, { tried: number; found: number; missed: string[] }>(
    PLANTED.map((planted) => [planted, { tried: 0, found: 0, missed: [] }]),
  );
  for (let seed = 1; seed <= HOMES; seed++) {
    const home = makeMeteredHome(seed);
    for (const planted of PLANTED) {
      const text = writeMonitorCsv(home, planted);
      if (text === undefined) continue;
      // A monitor's labels are starts; hours that begin with a day of standard time in summer are asked about.
      const { series, findings } = parseIntervalData(text, { zone: home.zone, intervalEnd: false });
      expect(series, `${planted}, home ${seed}: ${JSON.stringify(findings)}`).toBeDefined();
      const faults = checkMetering(series!, home);
      const codes = [...faults.map((fault) => fault.code), ...findings.map((finding) => finding.code)];
      const row = table.get(planted)!;
      row.tried++;
      const found = planted === 'clean' ? faults.length > 0 : codes.some((code) => FOUND[planted].includes(code));
      if (found) row.found++;
      if (found === (planted === 'clean')) row.missed.push(`${seed}:${codes.join('+')}`);
    }
  }
  if (process.env.DUSKBANK_HOMES !== undefined)
    for (const [planted, { tried, found, missed }] of table)
      process.stdout.write(
        `| ${planted} | ${tried} | ${found} | ${((100 * found) / tried).toFixed(1)} % | ${missed.join(' ')}\n`,
      );
  for (const [planted, { tried, found, missed }] of table) {
    const told = `${planted}: ${found} of ${tried} ${missed.join(' ')}`;
    if (planted === 'clean') expect(found, told).toBeLessThanOrEqual(tried * 0.01);
    else expect(found, told).toBeGreaterThanOrEqual(Math.floor(tried * FEWEST[planted]));
  }
}, 600_000);
