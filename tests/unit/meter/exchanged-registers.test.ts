import { checkMetering, type IntervalSeries, joinSeries, parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';

// Export that counts through the night beside import that counts by day alone: each has the other's name.

const zone = 'Australia/Brisbane';
const two = (n: number) => String(n).padStart(2, '0');
type Kwh = (slot: number) => number;
/** Half hours of a home: drawn all day, but where the sun covers it, and a hot water heater's register from 0 to 4 h. */
const drawn: Kwh = (k) => (k >= 16 && k < 32 ? 0 : k >= 36 && k < 44 ? 0.5 : 0.15);
const sold: Kwh = (k) => (k >= 16 && k < 32 ? 0.6 : 0);
const heater: Kwh = (k) => (k < 8 ? 0.8 : 0);
const block = (suffix: string, from: number, to: number, kwh: Kwh) => [
  `200,6000000001,E1E2B1,${suffix},${suffix},N1,M1,kWh,30,`,
  ...Array.from(
    { length: to - from + 1 },
    (_, d) => `300,202603${two(from + d)},${Array.from({ length: 48 }, (_, k) => kwh(k)).join(',')},A,,,,`,
  ),
];
const file = (from: number, to: number, e1: Kwh, b1: Kwh, e2: Kwh = heater) =>
  [
    '100,NEM12,202604010000,MDP,RET',
    ...block('E1', from, to, e1),
    ...block('E2', from, to, e2),
    ...block('B1', from, to, b1),
    '900',
    '',
  ].join('\n');
const read = (text: string): IntervalSeries => parseIntervalData(text, { zone }).series!;
const faults = (series: IntervalSeries) => checkMetering(series).filter(({ code }) => code === 'registers-exchanged');

describe('registers with each other’s names', () => {
  test('are told with their days, beside one that counts in the dark', () => {
    expect(faults(read(file(1, 28, sold, drawn)))).toMatchObject([
      {
        confidence: 'sure',
        data: { register: 'register E1', days: 28, runs: [{ from: '2026-03-01', to: '2026-03-28' }] },
      },
    ]);
    expect(checkMetering(read(file(1, 28, sold, drawn))).map(({ code }) => code)).not.toContain('leg-reversed');
  });

  test('are told where they are so in one of two files', () => {
    const joined = joinSeries([read(file(1, 14, drawn, sold)), read(file(15, 28, sold, drawn))]);
    expect(faults(joined.series!)).toMatchObject([
      { data: { days: 14, runs: [{ from: '2026-03-15', to: '2026-03-28' }] } },
    ]);
  });

  test.each([
    ['a home that sells by day', drawn, sold],
    [
      'a battery that leaves a little to the grid at night',
      (k: number) => (k >= 32 && k < 40 ? 0.1 : 0),
      (k: number) => sold(k) + (k < 8 || k >= 44 ? 0.01 : 0),
    ],
    [
      'a battery that sells all night, and the roof by day',
      (k: number) => (k >= 14 && k < 34 ? 0.1 : 0),
      (k: number) => sold(k) + (k < 12 || k >= 40 ? 0.2 : 0),
    ],
  ])('are not: %s', (_, e1, b1) => {
    expect(faults(read(file(1, 28, e1, b1)))).toEqual([]);
  });
});
