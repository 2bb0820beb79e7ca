// Averaging blocks that a window cuts: a block counts with the energy of its intervals in the window, over its full time.
import { makeAxis } from '@duskbank/core/axis';
import { billTariff, compileTariff, parseTariff } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { measuredKw, peakBlocks } from '../../../packages/core/src/tariff/terms/demand-peaks.ts';

const NONE = -1;
const clock = (day: readonly number[], stepHours = 0.25) => ({ stepHours, calendar: { day: Int32Array.from(day) } });
const measure = (
  group: readonly number[],
  more: { averagingSteps: number; phaseSteps?: number; highestDays?: number },
) => ({
  group: Int32Array.from(group),
  groups: Math.max(...group) + 1,
  phaseSteps: 0,
  highestDays: 1,
  ...more,
});

describe('by hand, quarters of an hour in half hours', () => {
  const oneDay = [0, 0, 0, 0, 0, 0, 0, 0];
  it('a window that begins inside a block counts what is in it, over the half hour', () => {
    // The block of intervals 2 and 3 has 3 only: 2 kWh over half an hour are 4 kW, where the quarter alone had 8.
    const term = measure([NONE, NONE, NONE, 0, 0, 0, NONE, NONE], { averagingSteps: 2 });
    expect([...measuredKw(clock(oneDay), term, Float64Array.of(9, 9, 9, 2, 0.5, 1, 9, 9))]).toEqual([4]);
    // And of the whole block inside: 0.5 and 1 kWh.
    expect([...measuredKw(clock(oneDay), term, Float64Array.of(9, 9, 9, 0.1, 0.5, 1, 9, 9))]).toEqual([3]);
  });
  it('a block that two windows share counts for each with its own part', () => {
    const term = measure([0, 0, 0, 1, 1, 1, 1, 1], { averagingSteps: 2 });
    expect([...measuredKw(clock(oneDay), term, Float64Array.of(1, 1, 3, 4, 1, 1, 1, 1))]).toEqual([6, 8]);
  });
  it('blocks that begin before the data count what the data have of them', () => {
    // Blocks of four begin at the second interval: the first lies in one from before.
    const term = measure([0, 0, 0, 0, 0, 1, 1, 1], { averagingSteps: 4, phaseSteps: 1 });
    expect([...measuredKw(clock(oneDay), term, Float64Array.of(5, 1, 1, 1, 1, 2, 2, 2))]).toEqual([5, 6]);
  });
  it('of the highest days each has the highest of its blocks', () => {
    const days = [0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2];
    const inWindow = days.map((_, i) => (i % 4 === 0 ? NONE : 0));
    const term = measure(inWindow, { averagingSteps: 2, highestDays: 2 });
    // Days of 4 kW (1 + 1 kWh), 10 kW (5 kWh of a cut block), 6 kW: the mean of the highest two.
    const kwh = Float64Array.of(9, 1, 1, 1, 9, 5, 1, 1, 9, 0, 1, 2);
    expect([...measuredKw(clock(days), term, kwh)]).toEqual([8]);
  });
});

test('agrees with blocks that are put together one by one, whatever the groups', () => {
  let cut = 0;
  fc.assert(
    fc.property(
      fc.array(fc.tuple(fc.integer({ min: -1, max: 2 }), fc.integer({ min: 1, max: 7 })), {
        minLength: 1,
        maxLength: 12,
      }),
      fc.integer({ min: 1, max: 5 }),
      fc.nat(4),
      fc.integer({ min: 1, max: 3 }),
      fc.array(fc.integer({ min: 0, max: 40 }), { minLength: 84, maxLength: 84 }),
      (stretches, averagingSteps, phase, highestDays, quarters) => {
        const group = stretches.flatMap(([g, length]) => Array.from({ length }, () => g));
        // Whole blocks a day, so that no block lies in two.
        const perDay = 3 * averagingSteps;
        const phaseSteps = phase % averagingSteps;
        const day = group.map((_, i) => Math.floor((i - phaseSteps + perDay) / perDay));
        const kwh = Float64Array.from(group, (_, i) => quarters[i]! / 4);
        const term = measure([...group, 2].slice(0, group.length), { averagingSteps, phaseSteps, highestDays });
        const whole = { ...term, groups: 3 };
        const sums = new Map<string, number>();
        for (const [i, g] of group.entries()) {
          const key = `${g} ${day[i]} ${Math.floor((i - phaseSteps) / averagingSteps)}`;
          sums.set(key, (sums.get(key) ?? 0) + kwh[i]!);
        }
        const expected = [0, 1, 2].map((g) => {
          const byDay = new Map<string, number>();
          for (const [key, sum] of sums) {
            const [of, on] = key.split(' ') as [string, string];
            if (Number(of) === g) byDay.set(on, Math.max(byDay.get(on) ?? 0, sum / (averagingSteps * 0.25)));
          }
          const top = [...byDay.values()].sort((a, b) => b - a).slice(0, highestDays);
          return top.length === 0 ? 0 : top.reduce((sum, kw) => sum + kw, 0) / top.length;
        });
        const kw = measuredKw(clock(day), whole, kwh);
        expect([...kw]).toEqual(expected.map((value) => expect.closeTo(value, 9)));
        if (averagingSteps > 1) cut++;
        const made = new Float64Array(3);
        for (const { group: g, members, share } of peakBlocks(
          { calendar: { day: Int32Array.from(day) } } as Parameters<typeof peakBlocks>[0],
          whole,
          kwh,
        ))
          made[g]! += (share * members.reduce((sum, i) => sum + kwh[i]!, 0)) / (averagingSteps * 0.25);
        expect([...made]).toEqual(expected.map((value) => expect.closeTo(value, 9)));
      },
    ),
    { numRuns: 400 },
  );
  expect(cut).toBeGreaterThan(100);
});

test('on a bill: a window from a quarter past, averaged over half hours', () => {
  const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 15, intervals: 96, zone: 'Etc/UTC' });
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Quarter past',
    currency: 'USD',
    windows: [
      { name: 'peak', from: '16:15', to: '18:15', pricePerKwh: 0 },
      { name: 'rest', otherwise: true, pricePerKwh: 0 },
    ],
    demand: [{ name: 'Demand', inWindows: 'peak', pricePerKw: 10, averagingMinutes: 30 }],
    export: { kind: 'none' },
    unusualPrices: true,
  });
  const importKwh = new Float64Array(96).fill(0.25);
  // 16:00 and 16:15: 3 kWh each. The half hour has 12 kW, of which the window holds 6.
  importKwh[64] = 3;
  importKwh[65] = 3;
  const [bill] = billTariff(compileTariff(tariff, axis), { importKwh, exportKwh: new Float64Array(96) }).periods;
  const demand = bill!.lines.find((line) => line.kind === 'demand')!;
  // A day of January: 60 ÷ 31.
  expect([demand.quantity, demand.amount]).toEqual([6, 1.94]);
});
