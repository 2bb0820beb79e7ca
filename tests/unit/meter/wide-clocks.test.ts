// Tables of a row a day whose columns are named by twelve-hour clocks: midnight and noon are where mistakes lie.
import { parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, it, test } from 'vitest';
import { clockOf } from '../../../packages/core/src/meter/wide.ts';

test.each([
  ['12:00 AM', 0],
  ['12:30 am', 30],
  ['1:00 AM', 60],
  ['11:45 AM', 11 * 60 + 45],
  ['12:00 PM', 720],
  ['12:15 p.m.', 735],
  ['1:00 PM', 780],
  ['11:59:00 PM', 23 * 60 + 59],
  ['kWh 0:15', 15],
  ['12:30', 750],
  ['00:30 - 01:00', 30],
  ['24:00', 1440],
  ['24:30', undefined],
  ['13.5', 810],
  ['24.5', undefined],
  ['0130', 90],
  ['2430', 1470],
  ['2560', undefined],
  ['Total', undefined],
  [undefined, undefined],
])('%s is %s minutes after midnight', (name, minutes) => expect(clockOf(name)).toBe(minutes));

/** A table of three days whose k-th column of the day holds k hundredths of a kWh and one. */
function read(names: readonly string[]) {
  const row = (day: number) => [`2026-02-0${day}`, ...names.map((_, k) => (1 + k / 100).toFixed(2))].join(',');
  const text = [['Date', ...names].join(','), row(1), row(2), row(3)].join('\n');
  const { series } = parseIntervalData(`${text}\n`, { zone: 'America/Denver', unit: 'kWh', channel: 'import' });
  return series!;
}
const clock = (minute: number, suffix = '') => {
  const hour = Math.floor(minute / 60) % 24;
  return `${hour % 12 === 0 ? 12 : hour % 12}:${String(minute % 60).padStart(2, '0')} ${hour < 12 ? 'AM' : 'PM'}${suffix}`;
};
const columns = (perDay: number, first: number) =>
  Array.from({ length: perDay }, (_, k) => clock(((k + first) * 1440) / perDay));

describe.each([24, 48, 96])('%d columns named by AM and PM', (perDay) => {
  const day = Array.from({ length: perDay }, (_, k) => 1 + k / 100);
  it('from 12:00 AM on name the starts', () => {
    const { axis, importKwh } = read(columns(perDay, 0));
    expect([axis.stepMinutes, axis.intervals, new Date(axis.startEpochMs).toISOString()]).toEqual([
      1440 / perDay,
      3 * perDay,
      '2026-02-01T07:00:00.000Z',
    ]);
    expect([...importKwh!.subarray(perDay, 2 * perDay)]).toEqual(day.map((kwh) => expect.closeTo(kwh, 9)));
  });
  it('to 12:00 AM name the ends', () => {
    const { axis, importKwh } = read(columns(perDay, 1));
    expect([axis.intervals, new Date(axis.startEpochMs).toISOString()]).toEqual([
      3 * perDay,
      '2026-02-01T07:00:00.000Z',
    ]);
    expect([...importKwh!.subarray(0, perDay)]).toEqual(day.map((kwh) => expect.closeTo(kwh, 9)));
  });
});
