// The open homes that the validation tables are made with: their load and sun on the grid that they were metered on.
import { readFileSync } from 'node:fs';
import { parseIntervalData, repairGaps } from '../packages/core/dist/meter/index.js';

/** home-a with its sun times each of `solarFactors`, home-b, home-c. */
export function openHomes(openData, solarFactors = [1]) {
  const read = (file) => readFileSync(new URL(file, openData));
  const rowsOf = (file) =>
    read(file)
      .toString('utf8')
      .split(/\r?\n/)
      .filter((line) => line !== '')
      .slice(1)
      .map((line) => line.split(','));
  const clock = (start, stepMinutes, intervals) => ({
    startEpochMs: Date.parse(`${start}T00:00:00Z`),
    stepMinutes,
    intervals,
    zone: 'Etc/UTC',
  });
  const a = rowsOf('home-a/home-a-halfhour.csv');
  const homeA = (factor) => ({
    name: factor === 1 ? 'home-a' : `home-a, solar × ${factor}`,
    ...clock('2011-07-01', 30, a.length),
    loadKwh: Float64Array.from(a, (row) => Number(row[1]) / 2),
    solarKwh: Float64Array.from(a, (row) => (Number(row[2]) / 2) * factor),
  });
  const b = repairGaps(
    parseIntervalData(read('home-b/home-b-hourly-utility-download.csv'), { zone: 'America/Los_Angeles' }).series,
  ).series;
  const c = rowsOf('home-c/home-c-modelled-hourly.csv');
  return [
    ...solarFactors.map(homeA),
    {
      name: 'home-b',
      startEpochMs: b.axis.startEpochMs,
      stepMinutes: b.axis.stepMinutes,
      intervals: b.axis.intervals,
      zone: b.axis.zone,
      loadKwh: b.importKwh,
      solarKwh: new Float64Array(b.axis.intervals),
    },
    {
      name: 'home-c',
      ...clock('2018-01-01', 60, c.length),
      loadKwh: Float64Array.from(c, (row) => Number(row[1])),
      solarKwh: new Float64Array(c.length),
    },
  ];
}
