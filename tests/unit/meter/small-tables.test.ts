import { makeAxis } from '@duskbank/core/axis';
import { checkMetering, parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, it, test } from 'vitest';
import { holdsMonths } from '../../../packages/core/src/meter/table/months.ts';
import { StampReader } from '../../../packages/core/src/meter/table/stamps.ts';
import { describeStep } from '../../../packages/core/src/words/steps.ts';
import { drawn, fileOf, labelAt, rowsOf, sunny } from '../../support/ladders.ts';

const ZONE = 'America/Denver';

describe('times in one run of digits', () => {
  it.each([
    ['20260331T1030', 10.5],
    ['20260331T103015', 10.5 + 15 / 3600],
    ['20260331T2400', 24],
    ['20260331T2401', undefined],
    ['20260331T1260', undefined],
    ['20260331T1259', 12 + 59 / 60],
  ])('%s', (text, hours) => {
    const stamps = new StampReader();
    const id = stamps.read(text);
    if (hours === undefined) expect(id).toBe(-1);
    else expect([id, stamps.timeMs]).toEqual([0, Math.round(hours * 3_600_000)]);
  });
});

test.each([
  ['1-2', 2],
  ['23-24', 24],
  ['1:30-2:00', 2],
  // Where the clock changes, an hour may end at its start, or two hours on: no length of it.
  ['2-2', undefined],
  ['1-3', undefined],
])('the hour %s ends', (hours, end) => {
  const stamps = new StampReader();
  expect(stamps.readTime(hours)).toBe(true);
  expect(stamps.timeMs).toBe(Number(hours.split('-')[0]!.replace(':30', '.5')) * 3_600_000);
  expect(stamps.endMs).toBe(end === undefined ? Number.NaN : end * 3_600_000);
});

describe('dates without a year', () => {
  const rows = (from: string) =>
    rowsOf(72, (i) => {
      const at = new Date(Date.parse(`${from}T00:00Z`) + i * 3_600_000).toISOString();
      const month = ['Jan', 'Feb', 'Mar'][Number(at.slice(5, 7)) - 1]!;
      return `${at.slice(8, 10)} ${month} ${at.slice(11, 16)},${drawn(i).toFixed(3)}`;
    });
  it.each([
    ['2024-02-28', '2024-02-28'],
    ['2023-03-01', '2023-03-01'],
  ])('from %s', (from, first) => {
    const { series } = parseIntervalData(fileOf('Time,kWh', rows(from)), { zone: ZONE });
    const day = series!.axis.calendar.days[0]!;
    expect(new Date(day.civilDay * 86_400_000).toISOString().slice(0, 10)).toBe(first);
  });
});

describe('tables of months', () => {
  const months = ['January', 'February', 'March', 'April'];
  const rows = (named: number, others: number, blank = 0) => [
    ...months.slice(0, named).map((month, k) => ({ cells: [month, `${100 + k}`] })),
    ...Array.from({ length: others }, (_, k) => ({ cells: [`row ${k}`, '3'] })),
    ...Array.from({ length: blank }, () => ({ cells: ['', ' '] })),
  ];
  it.each([
    [2, 0, 0, true],
    [1, 0, 0, false],
    [2, 1, 0, true],
    [2, 2, 0, false],
    [3, 2, 0, true],
    [2, 1, 5, true],
    [0, 4, 0, false],
  ])('%d months beside %d other rows and %d blank ones: %s', (named, others, blank, holds) => {
    expect(holdsMonths(rows(named, others, blank))).toBe(holds);
  });
});

it.each([
  [15, '15 minutes'],
  [60, 'hour'],
  [120, '2 hours'],
  [90, '90 minutes'],
  [1 / 6, '10 seconds'],
  [0.010_01, '0.601 seconds'],
])('a step of %d minutes is said as %s', (minutes, said) => expect(describeStep(minutes)).toBe(said));

describe('a leg the wrong way round', () => {
  const axis = makeAxis({ startEpochMs: Date.UTC(2026, 4, 1, 6), stepMinutes: 60, intervals: 480, zone: ZONE });
  const series = {
    axis,
    importKwh: Float64Array.from({ length: 480 }, (_, i) => (i % 24 === 1 ? 0 : drawn(i))),
    exportKwh: Float64Array.from({ length: 480 }, (_, i) => sunny(i) + (i % 24 === 1 ? 0.1 : 0)),
  };
  it.each([
    [undefined, undefined],
    [0, undefined],
    [2 * series.importKwh.reduce((sum, kwh) => sum + kwh, 0), 0.5],
  ])('is told beside %d kWh on the bill with the share that is metered', (billedKwh, share) => {
    const told = checkMetering(series, billedKwh === undefined ? {} : { billedKwh });
    const leg = told.find(({ code }) => code === 'leg-reversed');
    expect(leg).toBeDefined();
    const data = leg!.data as { readonly meteredShare?: number };
    if (share === undefined) expect(data).not.toHaveProperty('meteredShare');
    else expect(data.meteredShare).toBeCloseTo(share, 9);
  });
});

it('what is named as bought has no signs to lose, however it goes with the sun', () => {
  const value = (i: number) => 0.2 + 0.8 * sunny(i) * (1 + ((Math.floor(i / 24) * 37) % 11) / 10);
  const sun = (i: number) => sunny(i) * (1.2 + ((Math.floor(i / 24) * 37) % 11) / 10);
  const rows = rowsOf(480, (i) => `${labelAt(i)},${value(i).toFixed(3)},${sun(i).toFixed(3)}`);
  const codes = (header: string) =>
    parseIntervalData(fileOf(header, rows), { zone: ZONE }).findings.map(({ code }) => code);
  expect(codes('Start,Net (kWh),Solar (kWh)')).toContain('net-signs-lost');
  expect(codes('Start,Grid import (kWh),Solar (kWh)')).not.toContain('net-signs-lost');
});

describe('a day of NEM12 whose quality varies', () => {
  const nem12 = (last: number) =>
    [
      '100,NEM12,202603010000,X,Y',
      '200,NMI1,E1,E1,E1,,M1,kWh,30,',
      `300,20260227,${Array.from({ length: 48 }, () => '0.5').join(',')},A,,,20260301000000,`,
      `300,20260228,${Array.from({ length: 48 }, () => '0.5').join(',')},V,,,20260301000000,`,
      `400,1,${last},A,,`,
      '900',
    ].join('\n');
  it.each([
    [48, 48],
    [47, 47],
    [20, 20],
  ])('up to interval %d counts so far, in the last record of a file too', (last, counted) => {
    const { series } = parseIntervalData(nem12(last), { zone: 'Australia/Brisbane' });
    const kwh = series!.importKwh!.reduce((sum, value) => sum + (value || 0), 0);
    expect(kwh).toBeCloseTo(0.5 * (48 + counted), 9);
  });
});
