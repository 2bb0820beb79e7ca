// Kept answers: see tests/support/kept.ts. Sun that keeps to the clock on the wall, over so many days before a clock change and after it.
import { makeAxis } from '@duskbank/core/axis';
import { checkMetering } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { inOne, kept } from '../../support/kept.ts';
import { drawn, steps, sunny } from '../../support/ladders.ts';

const DAY_MS = 86_400_000;
/** Midnight in Denver of the day on which its clock changes. */
const CHANGE = Date.UTC(2026, 2, 8, 7);
const PLACES = [{}, { latitudeDeg: 39.7, longitudeDeg: -105 }];

/** What is found of so many days, the sun so many minutes later by the clock in summer than in winter. */
function found(before: number, after: number, later: number): string {
  const startEpochMs = CHANGE - before * DAY_MS;
  const intervals = (before + after) * 24 * 4 - 4;
  const axis = makeAxis({ startEpochMs, stepMinutes: 15, intervals, zone: 'America/Denver' });
  const solarKwh = Float64Array.from({ length: intervals }, (_, i) => {
    const isSummer = startEpochMs + i * 900_000 >= CHANGE + 2 * 3_600_000;
    return sunny(Math.floor((axis.calendar.minuteOfDay[i]! - (isSummer ? later : 0) + 1440) / 60) % 24) / 4;
  });
  const importKwh = Float64Array.from(solarKwh, (sun, i) => Math.max(0, drawn(i, 4) - sun));
  const exportKwh = Float64Array.from(solarKwh, (sun, i) => Math.max(0, sun - drawn(i, 4)));
  const series = { axis, importKwh, exportKwh, solarKwh };
  return inOne(
    `${before}, ${after}, ${later}`,
    PLACES.flatMap((place) => kept(checkMetering(series, place), 3).split('\n')),
  );
}

test('so many days of each season', () => {
  const days = [10, 18, 19, 20, 21, 22, 40];
  expect([...days.map((d) => found(d, 40, 0)), ...days.map((d) => found(40, d, 0))].join('\n')).toMatchSnapshot();
});

test('a sun so many minutes late', () => {
  expect(
    steps(-60, 150, 15)
      .map((later) => found(30, 30, later))
      .join('\n'),
  ).toMatchSnapshot();
});
