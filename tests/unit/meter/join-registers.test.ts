import { makeAxis } from '@duskbank/core/axis';
import {
  adjustSeries,
  faultsOf,
  type IntervalSeries,
  joinSeries,
  parseIntervalData,
  sumToStep,
} from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { kwhOf } from '../../support/nem12.ts';

// What one of several added parts lacks is not known, and told (docs/reference/interval-files.md): over the files of a home as
// within one of them.

const ZONE = 'Europe/Berlin';
const two = (n: number) => String(n).padStart(2, '0');
/** Hours of days of March 2026, before the clock changes: HT (8 to 20 h) takes 0.3 kWh an hour, NT 0.2. */
const HOUR_KWH = { HT: 0.3, NT: 0.2 };
const isHt = (hour: number) => hour >= 8 && hour < 20;
const kwhAt = (register: 'HT' | 'NT', hour: number) => ((register === 'HT') === isHt(hour) ? HOUR_KWH[register] : 0);
const hours = (from: number, to: number) =>
  Array.from({ length: (to - from + 1) * 24 }, (_, i) => ({ day: from + Math.floor(i / 24), hour: i % 24 }));
const stamp = ({ day, hour }: { day: number; hour: number }) => `${two(day)}.03.2026 ${two(hour)}:00`;
const comma = (kwh: number) => String(kwh).replace('.', ',');
const HT_A_DAY = 12 * 0.3;
const NT_A_DAY = 12 * 0.2;

type Register = 'HT' | 'NT';
const columns = (from: number, to: number, registers: readonly Register[], names: Readonly<Record<Register, string>>) =>
  [
    `Zeitpunkt;${registers.map((register) => names[register]).join(';')}`,
    ...hours(from, to).map((at) =>
      [stamp(at), ...registers.map((register) => comma(kwhAt(register, at.hour)))].join(';'),
    ),
    '',
  ].join('\n');
const rows = (from: number, to: number, registers: readonly Register[]) =>
  [
    'Zeitpunkt;Tarif;Bezug kWh',
    ...hours(from, to).flatMap((at) =>
      registers.map((register) => `${stamp(at)};${register};${comma(kwhAt(register, at.hour))}`),
    ),
    '',
  ].join('\n');
const OWN = { HT: 'HT kWh', NT: 'NT kWh' };

const read = (text: string, options = {}): IntervalSeries => {
  const { series, findings } = parseIntervalData(text, { zone: ZONE, ...options });
  expect(findings.filter(({ severity }) => severity === 'error')).toEqual([]);
  return series!;
};
const told = ({ findings }: ReturnType<typeof joinSeries>, code: string) =>
  findings.filter((finding) => finding.code === code);
/** kWh of the days of March, and how many of their intervals have no value. */
const ofDays = ({ axis, importKwh }: IntervalSeries, from: number, to: number) => {
  const own = Array.from(importKwh!).filter((_, i) => {
    const { dayOfMonth } = axis.calendar.days[axis.calendar.day[i]!]!;
    return dayOfMonth >= from && dayOfMonth <= to;
  });
  return { kwh: own.reduce((sum, kwh) => sum + (kwh || 0), 0), gaps: own.filter(Number.isNaN).length };
};

describe('a register that one file has and the next one lacks', () => {
  const cases = [
    ['in columns', columns(1, 10, ['HT', 'NT'], OWN), columns(11, 20, ['HT'], OWN), 'column 3 "NT kWh"'],
    ['in rows', rows(1, 10, ['HT', 'NT']), rows(11, 20, ['HT']), 'rows of "NT"'],
  ] as const;
  test.each(cases)('is not known there, and told with its days and kWh: %s', (_, both, one, name) => {
    const joined = joinSeries([read(both), read(one)]);
    expect(ofDays(joined.series!, 1, 10)).toEqual({ kwh: expect.closeTo(10 * (HT_A_DAY + NT_A_DAY), 9), gaps: 0 });
    expect(ofDays(joined.series!, 11, 20)).toEqual({ kwh: 0, gaps: 240 });
    expect(told(joined, 'part-missing')).toMatchObject([
      {
        severity: 'warning',
        data: {
          part: name,
          counted: 'unknown',
          days: 10,
          runs: [{ from: '2026-03-11', to: '2026-03-20' }],
          othersKwh: expect.closeTo(10 * HT_A_DAY, 9),
        },
      },
    ]);
  });

  test.each(cases)('in whichever order the files are named, and where the first lacks it: %s', (_, both, one) => {
    const first = ofDays(joinSeries([read(both), read(one)]).series!, 1, 20);
    expect(ofDays(joinSeries([read(one), read(both)]).series!, 1, 20)).toEqual(first);
  });

  test('as the columns that are stated are called, too', () => {
    const stated = { columns: { import: [2, 3] } };
    const joined = joinSeries([
      read(columns(1, 10, ['HT', 'NT'], OWN), stated),
      read(columns(11, 20, ['HT'], OWN), { columns: { import: 2 } }),
    ]);
    expect(ofDays(joined.series!, 11, 20).gaps).toBe(240);
  });

  test('counts nothing where the others count in its hours: its window is gone', () => {
    const whole = ['Zeitpunkt;HT kWh', ...hours(11, 20).map((at) => `${stamp(at)};0,25`), ''].join('\n');
    const joined = joinSeries([read(columns(1, 10, ['HT', 'NT'], OWN)), read(whole)]);
    expect(ofDays(joined.series!, 11, 20)).toEqual({ kwh: expect.closeTo(10 * 24 * 0.25, 9), gaps: 0 });
  });

  test('is none where the next file calls all of them by other names', () => {
    const joined = joinSeries([
      read(columns(1, 10, ['HT', 'NT'], OWN)),
      read(columns(11, 20, ['HT', 'NT'], { HT: 'Peak kWh', NT: 'Off-peak kWh' })),
    ]);
    expect(ofDays(joined.series!, 1, 20)).toEqual({ kwh: expect.closeTo(20 * (HT_A_DAY + NT_A_DAY), 9), gaps: 0 });
    expect(told(joined, 'part-missing')).toEqual([]);
  });

  test('is none beside a file of the whole', () => {
    const whole = columns(11, 20, ['HT'], { HT: 'Bezug kWh', NT: '' });
    const joined = joinSeries([read(columns(1, 10, ['HT', 'NT'], OWN)), read(whole)]);
    expect(ofDays(joined.series!, 11, 20)).toEqual({ kwh: expect.closeTo(10 * HT_A_DAY, 9), gaps: 0 });
  });

  test('is known where a third file has it', () => {
    const joined = joinSeries([
      read(columns(1, 10, ['HT', 'NT'], OWN)),
      read(columns(11, 20, ['HT'], OWN)),
      read(columns(11, 20, ['NT'], OWN)),
    ]);
    expect(ofDays(joined.series!, 1, 20)).toEqual({ kwh: expect.closeTo(20 * (HT_A_DAY + NT_A_DAY), 9), gaps: 0 });
  });

  test('is still told of once steps are summed and a scale is applied', () => {
    const [both, one] = [read(columns(1, 10, ['HT', 'NT'], OWN)), read(columns(11, 20, ['HT'], OWN))];
    const scaled = [both, one].map((series) => adjustSeries(series, { scale: { import: 2 } }));
    const joined = joinSeries(scaled);
    expect(told(joined, 'part-missing')).toMatchObject([{ data: { othersKwh: expect.closeTo(20 * HT_A_DAY, 9) } }]);
    const quarter = read(columns(1, 10, ['HT', 'NT'], OWN));
    expect(sumToStep(quarter, 60).parts).toMatchObject(quarter.parts!.map(({ register }) => ({ register })));
    expect(kwhOf(joinSeries(scaled.slice(0, 1)).series!.importKwh)).toBeCloseTo(20 * (HT_A_DAY + NT_A_DAY), 9);
  });
});

const nem12 = (
  days: readonly [number, number],
  registers: Readonly<Record<string, number>>,
  { configuration = 'E1E2', point = 'NMI0000001' } = {},
) =>
  [
    '100,NEM12,202606010000,MDP,RET',
    ...Object.entries(registers).flatMap(([suffix, kwh]) => [
      `200,${point},${configuration},${suffix},${suffix},N1,METER1,kWh,30,`,
      ...Array.from(
        { length: days[1] - days[0] + 1 },
        (_, k) =>
          `300,202603${two(days[0] + k)},${Array.from({ length: 48 }, () => kwh).join(',')},A,,,20260601000000,`,
      ),
    ]),
    '900',
    '',
  ].join('\n');
const MARKET = { zone: 'Australia/Brisbane' };

describe('registers of a connection point in several files', () => {
  const both = read(nem12([1, 10], { E1: 0.25, E2: 0.5 }), MARKET);

  test('one that a later file names and lacks is not known', () => {
    const joined = joinSeries([both, read(nem12([11, 20], { E1: 0.25 }), MARKET)]);
    expect(ofDays(joined.series!, 1, 10)).toEqual({ kwh: 10 * 48 * 0.75, gaps: 0 });
    expect(ofDays(joined.series!, 11, 20)).toEqual({ kwh: 0, gaps: 480 });
    expect(told(joined, 'part-missing')).toMatchObject([
      { data: { part: 'register E2', counted: 'unknown', days: 10 } },
    ]);
  });

  test('one that the configuration of a later file doesn’t name counted nothing, and that is told', () => {
    const joined = joinSeries([both, read(nem12([11, 20], { E1: 0.25 }, { configuration: 'E1' }), MARKET)]);
    expect(ofDays(joined.series!, 11, 20)).toEqual({ kwh: 10 * 48 * 0.25, gaps: 0 });
    expect(told(joined, 'part-missing')).toMatchObject([
      { data: { part: 'register E2', counted: 'not-there', days: 10, othersKwh: 10 * 48 * 0.25 } },
    ]);
  });

  test('each in a file of its own are added, as they are within one', () => {
    const joined = joinSeries([read(nem12([1, 10], { E1: 0.25 }), MARKET), read(nem12([1, 10], { E2: 0.5 }), MARKET)]);
    expect(ofDays(joined.series!, 1, 10)).toEqual({ kwh: 10 * 48 * 0.75, gaps: 0 });
    expect(told(joined, 'registers-joined')).toMatchObject([
      { severity: 'note', data: { first: ['register E1'], other: ['register E2'], firstKwh: 120, otherKwh: 240 } },
    ]);
  });

  test('where one of the two files ends earlier, the rest is not known', () => {
    const joined = joinSeries([read(nem12([1, 10], { E1: 0.25 }), MARKET), read(nem12([1, 6], { E2: 0.5 }), MARKET)]);
    expect(ofDays(joined.series!, 1, 6).gaps).toBe(0);
    expect(ofDays(joined.series!, 7, 10)).toEqual({ kwh: 0, gaps: 4 * 48 });
  });

  test('of two connection points are not', () => {
    const joined = joinSeries([
      read(nem12([1, 10], { E1: 0.25 }), MARKET),
      read(nem12([1, 10], { E2: 0.5 }, { point: 'NMI0000002' }), MARKET),
    ]);
    expect(joined.series).toBeUndefined();
    expect(told(joined, 'overlap-contradicts')).toHaveLength(1);
  });

  test('of two connection points are added once they stand in one file, as the hint says', () => {
    const [one, other] = [nem12([1, 10], { E1: 0.25 }), nem12([1, 10], { E1: 0.5 }, { point: 'NMI0000002' })];
    const joined = joinSeries([read(one, MARKET), read(other, MARKET)]);
    expect(faultsOf('a, b', joined.findings)[0]!.hint).toContain('usagePoint: [1, 2]');
    expect(kwhOf(read(one + other, { ...MARKET, usagePoint: [1, 2] }).importKwh)).toBe(10 * 48 * 0.75);
  });
});

describe('registers of price windows, each in a file of its own', () => {
  test('are added where they take turns', () => {
    const joined = joinSeries([read(columns(1, 10, ['HT'], OWN)), read(columns(1, 10, ['NT'], OWN))]);
    expect(ofDays(joined.series!, 1, 10)).toEqual({ kwh: expect.closeTo(10 * (HT_A_DAY + NT_A_DAY), 9), gaps: 0 });
    expect(told(joined, 'registers-joined')).toHaveLength(1);
  });

  test('count once where they hold the same under two names', () => {
    const renamed = read(columns(6, 15, ['HT', 'NT'], { HT: 'Peak kWh', NT: 'Off-peak kWh' }));
    const joined = joinSeries([read(columns(1, 10, ['HT', 'NT'], OWN)), renamed]);
    expect(ofDays(joined.series!, 1, 15)).toEqual({ kwh: expect.closeTo(15 * (HT_A_DAY + NT_A_DAY), 9), gaps: 0 });
    expect(told(joined, 'overlap-equal')).toHaveLength(1);
  });

  test('are a contradiction where both count at once: they may be of two meters', () => {
    const steady = (name: string, kwh: string) =>
      [`Zeitpunkt;${name}`, ...hours(1, 10).map((at) => `${stamp(at)};${kwh}`), ''].join('\n');
    const joined = joinSeries([read(steady('HT kWh', '0,3')), read(steady('NT kWh', '0,5'))]);
    expect(joined.series).toBeUndefined();
    expect(told(joined, 'overlap-contradicts')).toHaveLength(1);
  });
});

test('registers of two meters that hold the same where they overlap are asked about, as those that differ are', () => {
  const at = (register: 'e1' | 'e2', day: number): IntervalSeries => {
    const axis = makeAxis({ startEpochMs: Date.UTC(2026, 2, day), stepMinutes: 60, intervals: 48, zone: 'Etc/UTC' });
    const importKwh = new Float64Array(48);
    const about = { name: `register ${register}`, counts: 'always', point: register, allListed: false } as const;
    return { axis, importKwh, parts: [{ channel: 'import', register, ...about, kwh: importKwh }] };
  };
  const { series, findings } = joinSeries([at('e1', 1), at('e2', 2)]);
  expect(series).toBeUndefined();
  expect(findings).toMatchObject([
    { code: 'overlap-contradicts', severity: 'error', data: { from: '2026-03-02', to: '2026-03-02', alike: true } },
  ]);
  expect(findings[0]!.message).not.toContain('don’t measure the same');
});
