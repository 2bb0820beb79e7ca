import { parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { kwhOf } from '../../support/nem12.ts';

// Readings of less than five minutes are summed to five: one that comes late counts in the interval that has no other.

const zone = 'Europe/Berlin';
/** Two days of minutes with 0.01 kWh each, of which some come late by so many seconds, and some not at all. */
const minutes = (lateSeconds: (i: number) => number, isThere: (i: number) => boolean = () => true) => {
  const lines = ['Time,Usage (kWh)'];
  for (let i = 0; i < 2 * 1440; i++)
    if (isThere(i))
      lines.push(
        `${new Date(Date.UTC(2026, 2, 2, 0, i, lateSeconds(i))).toISOString().slice(0, 19).replace('T', ' ')},0.01`,
      );
  return parseIntervalData([...lines, ''].join('\n'), { zone });
};
const codes = ({ findings }: ReturnType<typeof minutes>) => findings.map(({ code }) => code);
/** But the last, after which no other tells which minute it is of. */
const fifth = (i: number) => i % 5 === 4 && i < 2 * 1440 - 1;

describe('minutes of which every fifth is late', () => {
  test.each([20, 25, 40, 55])('by %i seconds are all read', (seconds) => {
    const data = minutes((i) => (fifth(i) ? seconds : 0));
    expect(data.series!.axis.stepMinutes).toBe(5);
    expect(data.series!.importKwh).toHaveLength(576);
    expect(data.series!.importKwh!.every((kwh) => Math.abs(kwh - 0.05) < 1e-9)).toBe(true);
    expect(data.findings.find(({ code }) => code === 'clock-drift')).toMatchObject({ data: { mostSeconds: seconds } });
  });

  test('or comes at any second of its minute are all read', () => {
    const data = minutes((i) => (fifth(i) ? (i * 7) % 60 : 0));
    expect(kwhOf(data.series!.importKwh)).toBeCloseTo(2 * 1440 * 0.01, 9);
    expect(data.series!.importKwh!.some(Number.isNaN)).toBe(false);
  });

  test('are no second reading of an interval that has one', () => {
    const lines = ['Time,Usage (kWh)'];
    for (let i = 0; i < 2 * 1440; i++) {
      const minute = new Date(Date.UTC(2026, 2, 2, 0, i)).toISOString().slice(0, 17).replace('T', ' ');
      lines.push(`${minute}00,0.01`);
      if (fifth(i)) lines.push(`${minute}30,0.5`);
    }
    const data = parseIntervalData([...lines, ''].join('\n'), { zone });
    expect(kwhOf(data.series!.importKwh)).toBeCloseTo(2 * 1440 * 0.01, 9);
    expect(codes(data)).toContain('off-grid');
  });
});

test('minutes of which every fifth is missing leave nothing, and it is said why', () => {
  const data = minutes(
    () => 0,
    (i) => i % 5 !== 4,
  );
  expect(data.series).toBeUndefined();
  expect(data.findings.find(({ code }) => code === 'no-readings')!.message).toContain(
    'lacks some of the shorter readings',
  );
});

test('longer steps are left out where they are late, as before: whose energy they hold isn’t known', () => {
  const lines = ['Time,Usage (kWh)'];
  for (let i = 0; i < 2 * 96; i++)
    lines.push(
      `${new Date(Date.UTC(2026, 2, 2, 0, 15 * i + (fifth(i) ? 4 : 0))).toISOString().slice(0, 19).replace('T', ' ')},0.1`,
    );
  expect(codes(parseIntervalData([...lines, ''].join('\n'), { zone }))).toContain('off-grid');
});

test('registers of NEM12 without a day in common: that is said, and not that all is blank', () => {
  const block = (suffix: string, from: number) => [
    `200,6000000001,,${suffix},${suffix},N1,M1,kWh,30,`,
    ...Array.from(
      { length: 5 },
      (_, d) => `300,202603${String(from + d).padStart(2, '0')},${Array(48).fill('0.2').join(',')},A,,,,`,
    ),
  ];
  const text = ['100,NEM12,202604010000,MDP,RET', ...block('E1', 1), ...block('E2', 6), '900', ''].join('\n');
  const { findings } = parseIntervalData(text, { zone: 'Australia/Brisbane' });
  expect(findings.find(({ code }) => code === 'no-readings')!.message).toContain('at no time are all registers known');
});
