// A past day stands for another by the time of day, also where the data begin inside of it or a clock changes.
import { makeAxis } from '@duskbank/core/axis';
import { expect, test } from 'vitest';
import { copyDay } from '../../../packages/core/src/dispatch/forecast/like-days.ts';
import { besideTarget } from '../../../packages/core/src/dispatch/settings/candidates.ts';

/** Hours of day 0 as they stand for a later day; each holds its own number. */
function copied(startEpochMs: number, source: number, target: number, zone = 'Etc/UTC') {
  const axis = makeAxis({ startEpochMs, stepMinutes: 60, intervals: 24 * 5, zone });
  const { firstInterval, intervals } = axis.calendar.days[target]!;
  const out = new Float64Array(intervals);
  const values = Float64Array.from({ length: axis.intervals }, (_, i) => i);
  copyDay(axis, source, target, firstInterval, firstInterval + intervals, values, out, 0);
  return { first: axis.calendar.days[source]!.firstInterval, out: [...out] };
}
const range = (from: number, to: number) => Array.from({ length: to - from }, (_, k) => from + k);

test('a whole day stands hour by hour', () => {
  const { first, out } = copied(Date.UTC(2026, 0, 5), 1, 3);
  expect(out).toEqual(range(first, first + 24));
});

test('a first day that begins at 18:00 stands for the evening with its own evening', () => {
  const { out } = copied(Date.UTC(2026, 0, 5, 18), 0, 2);
  expect(out).toEqual([...range(0, 18).map(() => 0), ...range(0, 6)]);
});

test('a day of 23 hours stands for one of 24 from its midnight on, its last hour twice', () => {
  // 8 March 2026 in New York.
  const { first, out } = copied(Date.UTC(2026, 2, 7, 5), 1, 2, 'America/New_York');
  expect(out).toEqual([...range(first, first + 23), first + 22]);
});

test('beside a charge target a tenth less and a tenth more are tried, within 0 and 100', () => {
  const percents = (chargeToPercent: number) =>
    besideTarget({ charge: {}, chargeToPercent } as Parameters<typeof besideTarget>[0]).map(
      (each) => each.chargeToPercent,
    );
  expect(percents(50)).toEqual([40, 60]);
  expect(percents(100)).toEqual([90]);
  expect(percents(10)).toEqual([20]);
  expect(percents(0)).toEqual([]);
});
