// Kept answers: see tests/support/kept.ts.
import {
  type BillingRule,
  billingPeriods,
  civilDayOf,
  civilDayOfDate,
  epochAtLocal,
  type HolidayRule,
  holidayDays,
  intervalAt,
  intervalStartMs,
  isZone,
  makeAxis,
  offsetSpans,
  orthodoxEaster,
  STEP_MINUTES,
  westernEaster,
} from '@duskbank/core/axis';
import { expect, test } from 'vitest';
import { kept, keptEach } from '../../support/kept.ts';

const DAY_MS = 86_400_000;
const ZONES = [
  'America/Denver',
  'America/St_Johns',
  'America/Sao_Paulo',
  'Europe/London',
  'Africa/Johannesburg',
  'Asia/Kathmandu',
  'Australia/Lord_Howe',
  'Pacific/Auckland',
  'Etc/UTC',
];
/** Days around clock changes north and south, a leap day, a turn of the year, a week that ISO counts to another year. */
const STARTS = ['2024-02-27', '2025-03-07', '2026-03-27', '2026-04-03', '2026-10-02', '2026-10-31', '2026-12-29'];

test.each(ZONES)('axes of every step in %s', (zone) => {
  const told: Record<string, unknown> = {};
  for (const [k, date] of STARTS.entries()) {
    const stepMinutes = STEP_MINUTES[k % STEP_MINUTES.length]!;
    const startEpochMs = epochAtLocal(zone, civilDayOfDate(date) * DAY_MS, k % 2 === 0 ? 'earlier' : 'later');
    const axis = makeAxis({ startEpochMs, stepMinutes, intervals: (4 * 1440) / stepMinutes + k, zone });
    told[`${date}, ${stepMinutes} min`] = axis;
    told[`${date}, found again`] = [
      ...[0, 5, axis.intervals - 1].map((i) => intervalStartMs(axis, i)),
      ...[-1, 0, 1, 3.5 * 3_600_000, 5 * DAY_MS].map((ms) => intervalAt(axis, startEpochMs + ms)),
    ];
  }
  told.spans = offsetSpans(zone, Date.UTC(2023, 5, 1), Date.UTC(2027, 5, 1));
  expect(kept(told, 1)).toMatchSnapshot();
});

test('local times that come twice or not at all', async () => {
  const told: Record<string, unknown> = {};
  for (const zone of ZONES)
    for (const date of ['2026-03-08', '2026-03-29', '2026-04-05', '2026-10-04', '2026-10-25', '2026-11-01'])
      for (const choice of ['earlier', 'later'] as const)
        told[`${zone} ${date} ${choice}`] = [0, 30, 90, 119, 120, 150, 180].map((minute) =>
          epochAtLocal(zone, civilDayOfDate(date) * DAY_MS + minute * 60_000, choice),
        );
  expect(kept(told, 0)).toMatchSnapshot();
  expect(['Europe/London', 'UTC', '+02:00', 'MST', 'Mars/One', ''].map(isZone)).toMatchSnapshot();
});

const RULES: Record<string, BillingRule> = {
  'calendar month': { by: 'calendar-month' },
  ...Object.fromEntries([1, 2, 15, 28, 29, 30, 31].map((day) => [`day ${day}`, { by: 'cycle-day', day }])),
  'read dates': {
    by: 'read-dates',
    civilDays: [0, 31, 60, 92, 121, 150, 183, 400].map((days) => civilDayOf(2026, 1, 5) + days),
  },
};

test.each(Object.entries(RULES))('billing periods by %s', async (_name, rule) => {
  const calls: Record<string, () => unknown> = {};
  for (const [start, days] of [
    ['2026-01-05', 200],
    ['2025-12-31', 3],
    ['2026-02-28', 40],
    ['2028-01-30', 63],
  ] as const) {
    const zone = ZONES[days % ZONES.length]!;
    const startEpochMs = epochAtLocal(zone, civilDayOfDate(start) * DAY_MS);
    const axis = makeAxis({ startEpochMs, stepMinutes: 60, intervals: days * 24, zone });
    calls[`${days} days from ${start}`] = () => billingPeriods(axis, rule);
  }
  expect(await keptEach(calls, 0)).toMatchSnapshot();
});

const OBSERVED = ['none', 'nearest-weekday', 'sunday-to-monday', 'next-weekday'] as const;
const DATES: readonly HolidayRule['on'][] = [
  { kind: 'date', month: 1, dayOfMonth: 1 },
  { kind: 'date', month: 2, dayOfMonth: 29 },
  { kind: 'date', month: 12, dayOfMonth: 31 },
  { kind: 'nth-weekday', month: 11, weekday: 4, nth: 4 },
  { kind: 'nth-weekday', month: 5, weekday: 1, nth: -1 },
  { kind: 'nth-weekday', month: 2, weekday: 7, nth: 5 },
  { kind: 'easter', offsetDays: -2, church: 'western' },
  { kind: 'easter', offsetDays: 50, church: 'orthodox' },
  { kind: 'weekday-near', month: 5, dayOfMonth: 24, weekday: 1, side: 'on-or-before' },
  { kind: 'weekday-near', month: 11, dayOfMonth: 1, weekday: 6, side: 'on-or-after' },
  { kind: 'days', civilDays: [civilDayOf(2026, 7, 4), civilDayOf(2027, 7, 3), civilDayOf(2030, 1, 1)] },
];

test.each(OBSERVED)('holidays of eight years, observed %s', (observed) => {
  const told = Object.fromEntries(
    DATES.map((on, k) => [
      `${k} ${on.kind}`,
      holidayDays(
        [{ name: `Day ${k}`, on, observed, ...(k % 3 === 0 ? { sinceYear: 2026 } : {}) }],
        civilDayOf(2024, 1, 1),
        civilDayOf(2031, 12, 31),
      ),
    ]),
  );
  expect(kept(told, 1)).toMatchSnapshot();
});

test('Easter of two centuries', () => {
  const years = Array.from({ length: 200 }, (_, k) => 1900 + k);
  expect(kept({ western: years.map(westernEaster), orthodox: years.map(orthodoxEaster) })).toMatchSnapshot();
});
