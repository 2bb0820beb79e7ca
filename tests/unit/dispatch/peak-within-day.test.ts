import { makeAxis } from '@duskbank/core/axis';
import { peakShave, runStrategy } from '@duskbank/core/dispatch';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { openService, plainPlant } from '../../support/homes.ts';

// Two months of hours in a zone without clock changes: 0.3 kW, and 3 kW each evening from 18 to 19 h.
const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 1), stepMinutes: 60, intervals: 59 * 24, zone: 'Etc/UTC' });
const { minuteOfDay, day } = axis.calendar;
/** The tenth of February, counted from New Year. */
const PEAK_DAY = 40;

const loadKwh = Float64Array.from({ length: axis.intervals }, (_, i) => {
  const hour = minuteOfDay[i]! / 60;
  // In one night 8 kW, of which a battery of 1 kW takes little off.
  if (day[i] === PEAK_DAY && hour < 8) return 8;
  return hour >= 18 && hour < 19 ? 3 : 0.3;
});

const tariff = compileTariff(
  parseTariff({
    format: 'duskbank.tariff/1',
    name: 'By Power',
    currency: 'USD',
    windows: [{ name: 'all hours', otherwise: true, pricePerKwh: 0.2 }],
    demand: [{ name: 'Power', pricePerKw: 10, averagingMinutes: 60 }],
  }),
  axis,
);

test('a learned target rises within the day: after a peak that is paid for, the evening isn’t held under the old one', () => {
  const plant = plainPlant({
    gridCharging: true,
    capacityKwh: 6,
    floorKwh: 0,
    startKwh: 0,
    chargeLimitKw: 3,
    dischargeLimitKw: 1,
  });
  const home = { axis, loadKwh, solarKwh: new Float64Array(axis.intervals), tariff, plant, service: openService };
  const { flows } = runStrategy(peakShave(), home);
  const on = (d: number, from: number, to: number) =>
    flows.dischargeKwh.filter((_, i) => day[i] === d && minuteOfDay[i]! >= 60 * from && minuteOfDay[i]! < 60 * to);
  // On the day before, the target of January is held: the evening's 3 kW are held to 2.
  expect(Math.max(...on(PEAK_DAY - 1, 18, 19))).toBeGreaterThan(0.5);
  // The night's 8 kW set the peak: nothing is given in the evening of that day, nor later in the month.
  expect(Math.max(...flows.importKwh)).toBeGreaterThan(6.9);
  expect(Math.max(...on(PEAK_DAY, 18, 19))).toBe(0);
  expect(Math.max(...on(PEAK_DAY + 1, 18, 19))).toBe(0);
});
