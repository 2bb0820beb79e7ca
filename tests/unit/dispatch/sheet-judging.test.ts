import { makeAxis } from '@duskbank/core/axis';
import { followSheet, searchedSettings } from '@duskbank/core/dispatch';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import { type Case, evaluate, makeCase } from '@duskbank/core/trial';
import { describe, expect, test } from 'vitest';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';

const ONE_WINDOW = { windowsPerDay: 1, seasons: 1, weekends: false, clockMinutes: 30 };

const PRICES = [
  { name: 'night', from: '23:00', to: '06:00', pricePerKwh: 0.11 },
  { name: 'evening', days: 'weekday', from: '16:00', to: '21:00', pricePerKwh: 0.41 },
  { name: 'rest', otherwise: true, pricePerKwh: 0.19 },
];

/** Weeks of summer in Denver, hour by hour, on a tariff with these fields beside its prices. */
function homeOf(fields: Record<string, unknown>, days = 56, windows: unknown[] = PRICES, solarKw = 3): Case {
  // 4 May 2026, 00:00 local: a Monday.
  const shape = { days, stepMinutes: 60, startEpochMs: Date.UTC(2026, 4, 4, 6), zone: 'America/Denver', solarKw };
  const plant = plainPlant({
    capacityKwh: 10,
    floorKwh: 2,
    startKwh: 2,
    chargeLimitKw: 5,
    dischargeLimitKw: 5,
    gridCharging: true,
  });
  return makeCase(
    seededHome(7, shape, plant, openService, (axis) =>
      compileTariff(
        parseTariff({ format: 'duskbank.tariff/1', name: 'Any', currency: 'USD', windows, ...fields }),
        makeAxis(axis),
      ),
    ),
  );
}

function searched(home: Case) {
  const all = evaluate(home, searchedSettings(ONE_WINDOW), ['sheets']).sheets!.all;
  return { all, bill: evaluate(home, followSheet(all), ['bill']).bill.unrounded };
}

describe('the bill that sheets are searched on', () => {
  test('under buy-all it is that of the two meters: a sheet typed in by hand is no cheaper', () => {
    const home = homeOf({ export: { kind: 'buy-all', name: 'Sale', pricePerKwh: 0.08 } });
    expect(home.tariff.metering).toBe('gross');
    const { all, bill } = searched(home);
    for (const hours of [2, 7])
      for (const chargeToPercent of [50, 100]) {
        const charge = { fromMinute: (360 - 60 * hours + 1440) % 1440, toMinute: 360 };
        const sheet = { ...all, schedules: [{ ...all.schedules[0]!, charge, chargeToPercent }] };
        const other = evaluate(home, followSheet(sheet), ['bill']).bill.unrounded;
        expect(bill).toBeLessThanOrEqual(other + 1e-6);
      }
  });

  test('what is sold at another price changes no sheet under buy-all', () => {
    const sheetAt = (pricePerKwh: number) =>
      searched(homeOf({ export: { kind: 'buy-all', name: 'Sale', pricePerKwh } }, 28)).all;
    expect(sheetAt(0.5)).toEqual(sheetAt(0.02));
  });
});
