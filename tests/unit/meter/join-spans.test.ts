// Channels in files of their own that end, or begin, some hours apart are cut to what they share, and that is told; a day and more is asked about.
import { makeAxis } from '@duskbank/core/axis';
import { type IntervalSeries, joinSeries } from '@duskbank/core/meter';
import { expect, it } from 'vitest';

const START = Date.UTC(2026, 4, 1, 6);
const HOUR = 3_600_000;
const of = (channel: 'importKwh' | 'loadKwh', fromHour: number, hours: number): IntervalSeries => ({
  axis: makeAxis({ startEpochMs: START + fromHour * HOUR, stepMinutes: 60, intervals: hours, zone: 'America/Denver' }),
  [channel]: new Float64Array(hours).fill(1),
});

it.each([
  ['the same span', 0, 240, [], 240, 0],
  ['an hour less at the end', 0, 239, ['span-trimmed'], 239, 0],
  ['a day less at the end', 0, 216, ['span-trimmed'], 216, 0],
  ['more than a day less at the end', 0, 215, ['span-differs'], undefined, 0],
  ['an hour more at the end', 0, 241, ['span-trimmed'], 240, 0],
  ['an hour less at the start', 1, 239, ['span-trimmed'], 239, 1],
  ['an hour later at both ends', 1, 240, ['span-trimmed'], 239, 1],
])('%s', (_what, fromHour, hours, codes, shared, begins) => {
  const { series, findings } = joinSeries([of('importKwh', 0, 240), of('loadKwh', fromHour, hours)]);
  expect(findings.map(({ code }) => code)).toEqual(codes);
  expect(series?.axis.intervals).toBe(shared);
  if (series === undefined) return;
  expect(series.axis.startEpochMs).toBe(START + begins * HOUR);
  expect([...series.importKwh!, ...series.loadKwh!].every((kwh) => kwh === 1)).toBe(true);
});
