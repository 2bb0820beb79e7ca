import { makeAxis } from '@duskbank/core/axis';
import { type Home, hold, none, peakShave, runStrategy, selfConsumption, windowFill } from '@duskbank/core/dispatch';
import { backupHours } from '@duskbank/core/outage';
import { billTariff, billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { plainPlant, seeded } from '../support/homes-plain.ts';

/** FNV-1a over the bits of every number: equal just where every bit is. */
function bitsOf(hash: number, values: ArrayLike<number>): number {
  const bits = new Uint8Array(Float64Array.from(values).buffer);
  let h = hash;
  for (const byte of bits) h = Math.imul(h ^ byte, 0x01000193) >>> 0;
  return h;
}

/** A year of a seeded home through strategies, bills and outages: what must come out the same anywhere. */
export function yearInBits(): Record<string, number> {
  const axis = makeAxis({
    startEpochMs: Date.UTC(2026, 0, 1, 7),
    stepMinutes: 15,
    intervals: 35_040,
    zone: 'America/Denver',
  });
  const random = seeded(11);
  const { minuteOfDay } = axis.calendar;
  const loadKwh = Float64Array.from(minuteOfDay, (minute) => 0.05 + random() * (minute > 960 ? 0.7 : 0.2));
  const solarKwh = Float64Array.from(minuteOfDay, (minute) =>
    minute > 420 && minute < 1080 ? random() * 0.9 * (1 - Math.abs(minute - 750) / 400) : 0,
  ).map((kwh) => Math.max(0, kwh));
  const tariff = compileTariff(
    parseTariff({
      format: 'duskbank.tariff/1',
      name: 'Three windows',
      currency: 'USD',
      holidays: ['us-six'],
      windows: [
        { name: 'on-peak', days: 'weekday', from: '16:00', to: '21:00', pricePerKwh: 0.43 },
        { name: 'night', from: '23:00', to: '06:00', pricePerKwh: 0.11 },
        { name: 'day', otherwise: true, pricePerKwh: 0.19 },
      ],
      fixed: [{ name: 'Service', amount: 11, per: 'month' }],
      export: { kind: 'net-billing', pricePerKwh: 0.06 },
      taxes: [{ name: 'Tax', percent: 3.5, on: 'all' }],
    }),
    axis,
  );
  const plant = plainPlant({ floorKwh: 1.5, startKwh: 1.5, decayPerHour: 0.00003, standbyW: 18 });
  const service = { importLimitKw: Number.POSITIVE_INFINITY, exportLimitKw: 4 };
  const home: Home = { axis, loadKwh, solarKwh, tariff, plant, service };
  const result: Record<string, number> = {};
  for (const strategy of [none, hold, selfConsumption, windowFill, peakShave()]) {
    const { flows } = runStrategy(strategy, home);
    let hash = 0x811c9dc5;
    for (const series of Object.values(flows) as Float64Array[]) hash = bitsOf(hash, series);
    hash = bitsOf(hash, [billTotal(tariff, flows), billTariff(tariff, flows).total]);
    const hours = backupHours({ axis, plant, socKwh: flows.socKwh, loadKwh, solarKwh });
    result[strategy.name] = bitsOf(hash, hours);
  }
  return result;
}
