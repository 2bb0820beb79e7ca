// Kept answers: see tests/support/kept.ts.
import {
  type Controller,
  followSheet,
  homeOnAxis,
  type ReservePlan,
  runStrategy,
  searchedSettings,
  searchSettings,
} from '@duskbank/core/dispatch';
import { billTotal } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { kept } from '../../support/kept.ts';
import { KEPT_HOMES } from '../../support/kept-homes.ts';

const CONTROLLERS: Record<string, Controller> = {
  'no window': { windowsPerDay: 0, seasons: 1, weekends: false, clockMinutes: 60 },
  'one window': { windowsPerDay: 1, seasons: 1, weekends: false, clockMinutes: 30 },
  'two windows and weekends': { windowsPerDay: 2, seasons: 2, weekends: true, clockMinutes: 60 },
};

const RESERVES: readonly (ReservePlan | undefined)[] = [
  undefined,
  { reservePercent: 30, dated: [{ reservePercent: 70, when: { months: [1, 10], leadHours: 12 } }] },
  { reservePercent: 20, dated: [{ reservePercent: 100, when: { from: '2026-03-06T10:00', to: '2026-03-07T08:00' } }] },
];

const RUNS = KEPT_HOMES.flatMap(([name, home], k) =>
  Object.entries(CONTROLLERS)
    .filter((_, c) => c === k % 3 || c === 1)
    .map(([box, controller]) => [box, name, home, controller, RESERVES[k % RESERVES.length]] as const),
);

test.each(RUNS)('sheets of a box with %s on %s', (_box, _name, home, controller, reserve) => {
  const onAxis = homeOnAxis(home);
  const hoursOf = (socKwh: Float64Array) => socKwh.map((kwh) => kwh / 0.7);
  const found = searchSettings(onAxis, home.tariff, controller, reserve);
  const lasting = searchSettings(onAxis, home.tariff, controller, reserve, { hoursOf, wearOfFull: 1.5 });
  // With more to give up, what one half teaches comes to more on the other: then less of it is given up.
  const dearly = [0.2, 0.8, 3].map((most) =>
    searchSettings(onAxis, home.tariff, controller, reserve, {
      hoursOf,
      most,
      ...(most > 1 ? { heldAt: () => [] } : {}),
    }),
  );
  const { flows } = runStrategy(followSheet(found.all), home);
  const unseen = runStrategy(searchedSettings(controller, { ...(reserve ? { reserve } : {}), found }), home).flows;
  expect(
    kept(
      {
        found,
        lasting,
        dearly,
        followed: { bill: billTotal(home.tariff, flows), flows },
        unseen: { bill: billTotal(home.tariff, unseen), flows: unseen },
      },
      3,
    ),
  ).toMatchSnapshot();
});
