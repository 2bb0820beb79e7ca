import {
  civilDayOf,
  dateOfCivilDay,
  epochAtLocal,
  formatDate,
  intervalAt,
  intervalStartMs,
  makeAxis,
  offsetSpans,
  weekdayOfCivilDay,
} from '@duskbank/core/axis';
import { InputError } from '@duskbank/core/input';
import { DateTime } from 'luxon';
import { describe, expect, test } from 'vitest';

const HOUR_MS = 3_600_000;

// IANA time zone database 2025c: the UTC instants of each zone's clock changes, epoch seconds.
const CLOCK_CHANGES: [zone: string, spring: number[], autumn: number[]][] = [
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

/** The local year as an axis: `[local 1 January, next local 1 January)`. */
function localYear(year: number, zone: string, stepMinutes: number) {
  const start = DateTime.fromObject({ year }, { zone }).toMillis();
  const end = DateTime.fromObject({ year: year + 1 }, { zone }).toMillis();
  return makeAxis({ startEpochMs: start, stepMinutes, intervals: (end - start) / (stepMinutes * 60_000), zone });
}

describe.each(CLOCK_CHANGES)('%s', (zone, spring, autumn) => {
  test('the clock changes at the published instants', () => {
    const from = Date.UTC(2024, 0, 2);
    const spans = offsetSpans(zone, from, Date.UTC(2027, 11, 30));
    const changes = spans.slice(1).map((span) => span.fromEpochMs / 1000);
    expect(changes).toEqual([...spring, ...autumn].sort((a, b) => a - b));
  });

  test.each([2024, 2025, 2026, 2027])(
    '%d has one day of 23 hours and one of 25, and the year its usual length',
    (year) => {
      const axis = localYear(year, zone, 15);
      const lengths = axis.calendar.days.map((day) => day.intervals);
      expect(lengths.filter((length) => length === 92)).toHaveLength(1);
      expect(lengths.filter((length) => length === 100)).toHaveLength(1);
      expect(lengths.filter((length) => length === 96)).toHaveLength(axis.calendar.days.length - 2);
      expect(axis.intervals).toBe(year % 4 === 0 ? 35_136 : 35_040);
      const short = axis.calendar.days.find((day) => day.intervals === 92)!;
      const change = spring.find((s) => new Date(s * 1000 - 12 * HOUR_MS).getUTCFullYear() === year)! * 1000;
      expect(axis.calendar.day[intervalAt(axis, change)]).toBe(axis.calendar.days.indexOf(short));
    },
  );

  test.each([5, 30, 60])('every interval agrees with a date library, at %d minutes', (stepMinutes) => {
    const axis = localYear(2026, zone, stepMinutes);
    // Every 7th interval, and all of those around the clock changes.
    for (let i = 0; i < axis.intervals; i++) {
      const epochMs = intervalStartMs(axis, i);
      const near = [...spring, ...autumn].some((s) => Math.abs(epochMs - s * 1000) < 4 * HOUR_MS);
      if (!near && i % 97 !== 0) continue;
      const local = DateTime.fromMillis(epochMs, { zone });
      const day = axis.calendar.days[axis.calendar.day[i]!]!;
      expect(axis.calendar.minuteOfDay[i]).toBe(local.hour * 60 + local.minute);
      expect(axis.calendar.weekday[i]).toBe(local.weekday);
      expect(axis.calendar.month[i]).toBe(local.month);
      expect(formatDate(day)).toBe(local.toISODate());
    }
  });
});

describe('zones that are different', () => {
  test('a zone without daylight saving has days of 24 hours only', () => {
    for (const zone of ['America/Phoenix', 'Asia/Tokyo', 'Etc/UTC', 'UTC'])
      expect(new Set(localYear(2026, zone, 60).calendar.days.map((day) => day.intervals))).toEqual(new Set([24]));
  });

  test('half-hour zones keep their phase, and Lord Howe shifts by half an hour', () => {
    const india = makeAxis({
      startEpochMs: Date.UTC(2026, 0, 1),
      stepMinutes: 30,
      intervals: 48,
      zone: 'Asia/Kolkata',
    });
    expect(india.calendar.minuteOfDay[0]).toBe(330);
    const howe = localYear(2026, 'Australia/Lord_Howe', 30);
    expect(howe.calendar.days.map((day) => day.intervals).filter((n) => n !== 48)).toEqual([49, 47]);
  });

  test('an axis may start off the hour and a 60-minute step then reads off the hour too', () => {
    const axis = makeAxis({
      startEpochMs: Date.UTC(2026, 0, 1, 0, 10),
      stepMinutes: 60,
      intervals: 24,
      zone: 'Etc/UTC',
    });
    expect([...axis.calendar.minuteOfDay.slice(0, 2)]).toEqual([10, 70]);
  });

  test('a date that a zone skipped whole is not on its axis', () => {
    // Samoa crossed the date line: Pacific/Apia had no 30 December 2011 (IANA database, zone Pacific/Apia).
    const axis = makeAxis({
      startEpochMs: Date.UTC(2011, 11, 29),
      stepMinutes: 60,
      intervals: 96,
      zone: 'Pacific/Apia',
    });
    const dates = axis.calendar.days.map(formatDate);
    expect(dates).toContain('2011-12-29');
    expect(dates).toContain('2011-12-31');
    expect(dates).not.toContain('2011-12-30');
  });
});

describe('civil days', () => {
  test('count as a date library counts, over four centuries, leap years by the rule of 400', () => {
    for (let day = civilDayOf(1899, 12, 31); day < civilDayOf(2301, 1, 1); day += 13) {
      const date = dateOfCivilDay(day);
      const reference = DateTime.fromMillis(day * 86_400_000, { zone: 'utc' });
      expect(formatDate(date)).toBe(reference.toISODate());
      expect(weekdayOfCivilDay(day)).toBe(reference.weekday);
      expect(civilDayOf(date.year, date.month, date.dayOfMonth)).toBe(day);
    }
    expect(civilDayOf(2000, 3, 1) - civilDayOf(2000, 2, 28)).toBe(2);
    expect(civilDayOf(1900, 3, 1) - civilDayOf(1900, 2, 28)).toBe(1);
  });
});

describe('local time to instant', () => {
  const local = (text: string) => Date.parse(`${text}Z`);
  test('a time that comes twice is settled by choice', () => {
    const twice = local('2026-11-01T01:30:00');
    expect(epochAtLocal('America/Denver', twice, 'earlier')).toBe(Date.UTC(2026, 10, 1, 7, 30));
    expect(epochAtLocal('America/Denver', twice, 'later')).toBe(Date.UTC(2026, 10, 1, 8, 30));
  });
  test('a time that is skipped lands on one side or the other of the gap', () => {
    const skipped = local('2026-03-08T02:30:00');
    expect(epochAtLocal('America/Denver', skipped, 'earlier')).toBe(Date.UTC(2026, 2, 8, 8, 30));
    expect(epochAtLocal('America/Denver', skipped, 'later')).toBe(Date.UTC(2026, 2, 8, 9, 30));
  });
  test('any other time is where a date library puts it', () => {
    for (let hour = 0; hour < 24 * 400; hour += 5) {
      const at = DateTime.fromMillis(Date.UTC(2026, 0, 1) + hour * HOUR_MS, { zone: 'Australia/Sydney' });
      const shown = at.toMillis() + at.offset * 60_000;
      // The hour that the clock shows twice: 2:00 to 3:00 on 2026-04-05, and the year after on 04-04.
      const twice = [Date.UTC(2026, 3, 5, 2), Date.UTC(2027, 3, 4, 2)].some(
        (from) => shown >= from && shown < from + HOUR_MS,
      );
      if (!twice) expect(epochAtLocal('Australia/Sydney', shown, 'earlier')).toBe(at.toMillis());
      if (!twice) expect(epochAtLocal('Australia/Sydney', shown, 'later')).toBe(at.toMillis());
    }
  });
  test.each(['2026-03-07T12:00', '2026-03-08T12:00', '2026-10-31T12:00', '2026-11-01T12:00'])(
    'a time within a day of a clock change, %s, is what the clock shows',
    (text) => {
      const at = DateTime.fromISO(text, { zone: 'America/Denver' });
      for (const choice of ['earlier', 'later'] as const)
        expect(epochAtLocal('America/Denver', local(`${text}:00`), choice)).toBe(at.toMillis());
    },
  );
});

describe('refuses', () => {
  const good = { startEpochMs: 0, stepMinutes: 15, intervals: 96, zone: 'Etc/UTC' };
  test.each([
    ['a zone that is no zone', { zone: 'Mars/Base' }, 'unknown-zone'],
    ['an offset in place of a zone', { zone: 'UTC-7' }, 'unknown-zone'],
    ['an abbreviation', { zone: 'EST' }, 'unknown-zone'],
    ['a step that no meter uses', { stepMinutes: 7 }, 'out-of-range'],
    ['no intervals', { intervals: 0 }, 'out-of-range'],
    ['a start between minutes', { startEpochMs: 1 }, 'out-of-range'],
  ])('%s', (_name, change, code) => {
    let thrown: unknown;
    try {
      makeAxis({ ...good, ...change });
    } catch (error) {
      thrown = error;
    }
    expect(thrown).toBeInstanceOf(InputError);
    expect((thrown as InputError).issues.map((issue) => issue.code)).toEqual([code]);
  });
});
