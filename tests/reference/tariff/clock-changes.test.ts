import { intervalStartMs, makeAxis } from '@duskbank/core/axis';
import { billTariff, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, it } from 'vitest';

// IANA tz database 2025c: the instants of the clock changes, s since 1970.
const CHANGES: [zone: string, shortDays: number[], longDays: number[]][] = [
  [
    'America/New_York',
    [1710054000, 1741503600, 1772953200, 1805007600],
    [1730613600, 1762063200, 1793512800, 1825567200],
  ],
  [
    'America/Los_Angeles',
    [1710064800, 1741514400, 1772964000, 1805018400],
    [1730624400, 1762074000, 1793523600, 1825578000],
  ],
  ['Europe/London', [1711846800, 1743296400, 1774746000, 1806195600], [1729990800, 1761440400, 1792890000, 1824944400]],
  [
    'Australia/Sydney',
    [1728144000, 1759593600, 1791043200, 1822492800],
    [1712419200, 1743868800, 1775318400, 1806768000],
  ],
];

const tariff = parseTariff({
  format: 'duskbank.tariff/1',
  name: 'Night and day',
  currency: 'USD',
  windows: [
    { name: 'night', from: '00:00', to: '06:00', pricePerKwh: 0.1 },
    { name: 'day', otherwise: true, pricePerKwh: 0.2 },
  ],
  demand: [{ name: 'Night demand', inWindows: 'night', pricePerKw: 1, averagingMinutes: 60 }],
  fixed: [{ name: 'Basic service', amount: 1, per: 'day' }],
});

describe('clock changes', () => {
  const cases = CHANGES.flatMap(([zone, short, long]) => [
    ...short.map((at) => [zone, at, 23] as const),
    ...long.map((at) => [zone, at, 25] as const),
  ]);
  it.each(cases)('%s at %i: a day of %i hours, the hour before dawn once less or more', (zone, at, hours) => {
    for (const stepMinutes of [15, 30, 60]) {
      // From ten days before the change to ten days after, from midnight to midnight.
      const around = makeAxis({
        startEpochMs: (at - 11 * 86_400) * 1000,
        stepMinutes,
        intervals: (22 * 1440) / stepMinutes,
        zone,
      });
      const days = around.calendar.days.slice(1, -1);
      const first = days[0]!.firstInterval;
      const intervals = days.reduce((sum, day) => sum + day.intervals, 0);
      const axis = makeAxis({ startEpochMs: intervalStartMs(around, first), stepMinutes, intervals, zone });
      const changed = axis.calendar.days.filter((day) => day.intervals !== 1440 / stepMinutes);
      expect(changed.map((day) => (day.intervals * stepMinutes) / 60)).toEqual([hours]);
      const { firstInterval } = changed[0]!;
      expect(intervalStartMs(axis, firstInterval)).toBeLessThan(at * 1000);
      // 1 kW all the time: the night of the change has 5 or 7 hours, whatever the step.
      const importKwh = new Float64Array(intervals).fill(stepMinutes / 60);
      const bill = billTariff(compileTariff(tariff, axis), { importKwh, exportKwh: new Float64Array(intervals) });
      const kwh = (name: string) =>
        bill.periods
          .flatMap((p) => p.lines)
          .filter((l) => l.name === name)
          .reduce((sum, l) => sum + l.quantity, 0);
      const count = axis.calendar.days.length;
      expect(kwh('Energy, night')).toBeCloseTo(6 * count + hours - 24, 9);
      expect(kwh('Energy, day')).toBeCloseTo(18 * count, 9);
      expect(kwh('Basic service')).toBe(count);
      for (const line of bill.periods.flatMap((p) => p.lines))
        if (line.kind === 'demand') expect(line.quantity).toBe(1);
    }
  });

  it.each([2024, 2025])('a local year has its 365 or 366 days of hours in every zone, %i', (year) => {
    for (const [zone] of CHANGES) {
      const start = makeAxis({
        startEpochMs: Date.UTC(year - 1, 11, 31, 0),
        stepMinutes: 15,
        intervals: 96 * 370,
        zone,
      });
      const days = start.calendar.days.filter((day) => day.year === year);
      const intervals = days.reduce((sum, day) => sum + day.intervals, 0);
      expect(intervals).toBe(year % 4 === 0 ? 35_136 : 35_040);
    }
  });
});
