import { makeAxis } from '@duskbank/core/axis';
import { followSheet, homeOnAxis, runStrategy, type SheetSchedule, searchSettings } from '@duskbank/core/dispatch';
import { billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { keptLonger, laterMinutesOf, movedWindows } from '../../../packages/core/src/dispatch/settings/candidates.ts';
import { openService, plainPlant } from '../../support/homes.ts';

/** Eight weeks whose last hour of the dear stretch, 16 to 19 h on weekdays, draws the most and sets the peak that is paid for. */
function lateHighest() {
  const axis = makeAxis({
    startEpochMs: Date.UTC(2026, 0, 5, 7),
    intervals: 56 * 24,
    stepMinutes: 60,
    zone: 'America/Denver',
  });
  const { minuteOfDay } = axis.calendar;
  const kwAt = [1, 1.4, 3.2];
  const loadKwh = Float64Array.from(minuteOfDay, (minute, i) => {
    const hour = minute / 60;
    return (hour >= 16 && hour < 19 ? kwAt[hour - 16]! : 0.4) + ((7 * i) % 13) / 100;
  });
  const rates = {
    format: 'duskbank.tariff/1',
    name: 'Peak Draw',
    currency: 'USD',
    windows: [
      { name: 'peak', days: 'weekday', from: '16:00', to: '19:00', pricePerKwh: 0.15 },
      { name: 'off', otherwise: true, pricePerKwh: 0.08 },
    ],
    demand: [{ name: 'Peak demand', pricePerKw: 15, inWindows: 'peak' }],
    export: { kind: 'none' },
  };
  const tariff = compileTariff(parseTariff(rates), axis);
  const plant = plainPlant({ capacityKwh: 3.5, chargeLimitKw: 2, dischargeLimitKw: 3, startKwh: 0 });
  const home = { axis, loadKwh, solarKwh: new Float64Array(axis.intervals), tariff, plant, service: openService };
  return { home, onAxis: homeOnAxis(home), tariff };
}

test.each([1, 2])(
  'with %d windows a day a battery too small for the peak is kept for its highest hour',
  (windowsPerDay) => {
    const { home, onAxis, tariff } = lateHighest();
    const controller = { windowsPerDay, seasons: 1, weekends: true, clockMinutes: 60 };
    const { all } = searchSettings(onAxis, tariff, controller);
    const billOf = (schedules: readonly SheetSchedule[]) =>
      billTotal(tariff, runStrategy(followSheet({ ...all, schedules }), home, { onAxis }).flows);
    const bill = billOf(all.schedules);
    const byHand = ([from, to]: [number, number]) =>
      billOf([
        {
          ...all.schedules[0]!,
          days: 'every day',
          charge: { fromMinute: 60 * from, toMinute: 60 * to },
          chargeToPercent: 100,
          discharge: null,
        },
      ]);
    // Spent from 16 h on it is empty by 18 h and lowers no peak.
    const early = byHand([13, 16]);
    expect(bill).toBeLessThan(early - 30);
    expect(bill).toBeLessThanOrEqual(Math.min(byHand([13, 17]), byHand([13, 18])) + 1e-9);
  },
);

const runs = [
  { fromMinute: 1260, toMinute: 960, price: 0.1 },
  { fromMinute: 960, toMinute: 1260, price: 0.4 },
];
const months = [1];
const plain = { months, days: 'every day', charge: null, chargeToPercent: 0, discharge: null } as const;
const told = (schedule: Partial<SheetSchedule>, later = 30, reach: 'near' | 'far' = 'far') =>
  keptLonger({ runs, laterMinutes: later }, { ...plain, ...schedule }, reach).map(({ charge, discharge }) =>
    [charge, discharge].map((w) => (w === null ? '-' : `${w.fromMinute / 60}-${w.toMinute / 60}`)).join(' '),
  );

test('what is kept longer charges on into the dear stretch, or carries load from later in it', () => {
  const charge = { fromMinute: 780, toMinute: 960 };
  // By half hours, then by whole ones; begun as it is, and as early as it may be for no more.
  const later = [16.5, 17, 17.5, 18, 18.5, 19, 20];
  const begun = (ends: readonly number[]) => [13, 21].flatMap((from) => ends.map((to) => `${from}-${to} -`));
  expect(told({ charge, chargeToPercent: 80 })).toEqual(begun(later));
  expect(told({ charge, chargeToPercent: 80 }, 60)).toEqual(begun([17, 18, 19, 20]));
  expect(told({ charge, chargeToPercent: 80 }, 30, 'near')).toEqual(later.slice(0, -1).map((to) => `13-${to} -`));
  // One that was kept longer before is tried anew from where it is filled.
  expect(told({ charge: { fromMinute: 780, toMinute: 1050 }, chargeToPercent: 80 })).toEqual(begun(later));
  const discharge = { fromMinute: 960, toMinute: 1260 };
  expect(told({ discharge })).toEqual(later.map((from) => `- ${from}-21`));
  expect(told({ charge, chargeToPercent: 80, discharge })).toEqual(later.map((from) => `13-16 ${from}-21`));
});

test('nothing is kept longer where no window ends before a dearer stretch', () => {
  expect(told({})).toEqual([]);
  expect(told({ charge: { fromMinute: 0, toMinute: 0 }, chargeToPercent: 100 })).toEqual([]);
  expect(told({ charge: { fromMinute: 1320, toMinute: 420 }, chargeToPercent: 100 })).toEqual([]);
  expect(told({ charge: { fromMinute: 960, toMinute: 1260 }, chargeToPercent: 100 })).toEqual([]);
  expect(told({ charge: { fromMinute: 780, toMinute: 960 }, chargeToPercent: 0 })).toEqual([]);
});

test('a window that goes on into a dear stretch is begun earlier and ends there as it did', () => {
  const moved = movedWindows(runs, { fromMinute: 780, toMinute: 1050 });
  expect(moved.every(({ toMinute }) => toMinute === 1050)).toBe(true);
  expect(moved.map(({ fromMinute }) => fromMinute / 60)).toContain(21);
});

test('windows move by whole steps of the clock and of the data', () => {
  const of = [
    [5, 15],
    [30, 30],
    [20, 15],
    [60, 15],
    [30, 60],
  ] as const;
  expect(of.map(([clock, step]) => laterMinutesOf(clock, step))).toEqual([30, 30, 60, 60, 60]);
});
