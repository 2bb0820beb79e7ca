import { readdirSync, readFileSync } from 'node:fs';
import { type Axis, makeAxis } from '@duskbank/core/axis';
import { type CompileOptions, type PriceSeries, parseTariff, type Tariff } from '@duskbank/core/tariff';
import { DateTime } from 'luxon';
import type { SlowAccount } from './slow-bill.ts';

/** How a fixture is tried: the stretch of time, and what its home's account says. */
interface Trial {
  start?: string;
  days?: number;
  stepMinutes?: number;
  zone?: string;
  account?: SlowAccount;
  /** Names a price series made up for the file `spot.csv`. */
  spot?: boolean;
  grain?: number;
}

const berlin = 'Europe/Berlin';
const TRIALS: Record<string, Trial> = {
  'holidays-movable': { start: '2026-03-25', days: 280, zone: berlin },
  'season-over-new-year': { start: '2027-11-01', days: 150 },
  'holidays-off-peak': { start: '2026-05-20', days: 60 },
  'windows-by-month': { start: '2026-05-01', days: 160, zone: 'Asia/Kolkata' },
  'three-windows-two-seasons': { start: '2026-04-10', days: 190, zone: 'America/Los_Angeles' },
  'blocks-by-season': { start: '2026-04-01', days: 250 },
  'baseline-blocks': { start: '2026-04-10', days: 200, account: { baselineZone: 'valley' } },
  'baseline-by-day': { start: '2026-04-20', days: 90 },
  'hourly-prices': { spot: true, zone: berlin },
  'net-billing-series': { spot: true, zone: berlin, start: '2026-03-01' },
  'events-on-clock-change': { start: '2026-02-20', days: 260 },
  'demand-several': { start: '2026-05-15', days: 60, stepMinutes: 15 },
  'demand-maximum': { days: 62, stepMinutes: 15 },
  'demand-averaging': { start: '2026-03-05', days: 40, stepMinutes: 15 },
  'demand-ratchet': { days: 500 },
  'demand-winter-ratchet': { start: '2026-02-01', days: 330, account: { earlierPeaksKw: [6.5, 9, 4, 4, 3, 3, 12.5] } },
  'demand-contract': { days: 62, stepMinutes: 15, zone: berlin, account: { contractKw: 7, powerFactor: 0.92 } },
  'demand-per-day': { start: '2026-03-20', days: 60, stepMinutes: 30, zone: 'Australia/Sydney' },
  'capacity-steps': { days: 100, zone: 'Europe/Oslo' },
  'ratchet-across-versions': { start: '2025-10-05', days: 330 },
  'fixed-forms': { start: '2026-04-15', days: 120, account: { serviceAmps: 150, serviceKva: 36 } },
  'discount-programme': { account: { programmes: ['helping-hand'] } },
  'net-metering-true-up': { start: '2026-02-01', days: 200, account: { carriedKwh: 25.5 } },
  'net-metering-own-windows': { start: '2026-03-10', days: 120 },
  'net-metering-summer-window': { start: '2026-08-10', days: 330 },
  'net-metering-summer-true-up': { start: '2026-08-20', days: 310 },
  'net-metering-money': { start: '2025-12-10', days: 200, account: { carriedMoney: 11.2 } },
  'net-billing-flat': { start: '2026-02-10', days: 130 },
  'seasonal-net-metering': { start: '2026-05-01', days: 210 },
  'edges-inside-steps': { start: '2026-02-20', days: 60, stepMinutes: 60, grain: 5 },
  'peak-on-25-hour-day': { start: '2026-03-01', days: 260, stepMinutes: 30 },
  'thirty-day-month': { start: '2025-12-20', days: 150 },
  'read-dates': { start: '2025-12-29', days: 110 },
  'cycle-day': { start: '2026-01-12', days: 170, account: { cycleDay: 30 } },
  'export-blocks-by-day': { start: '2026-03-20', days: 60, stepMinutes: 30, zone: 'Australia/Sydney' },
  'net-billing-table': { start: '2026-03-01', days: 80, zone: 'America/Los_Angeles' },
  'night-window': { days: 40, stepMinutes: 30 },
  'night-window-by-start': { days: 40, stepMinutes: 30 },
};

export interface TariffFixture {
  readonly name: string;
  readonly tariff: Tariff;
  readonly axis: Axis;
  readonly options: CompileOptions;
  readonly account: SlowAccount;
  readonly hourlyPrices: Record<string, readonly number[]>;
  readonly grain: number;
}

const folder = new URL('../../fixtures/tariffs/', import.meta.url);

/** Every tariff of `fixtures/tariffs`, with a stretch of time to bill. */
export function tariffFixtures(): TariffFixture[] {
  return readdirSync(folder)
    .filter((file) => file.endsWith('.json'))
    .map((file): TariffFixture => {
      const name = file.replace('.json', '');
      const trial = TRIALS[name] ?? {};
      const zone = trial.zone ?? 'America/Denver';
      const stepMinutes = trial.stepMinutes ?? 60;
      const start = DateTime.fromISO(trial.start ?? '2026-01-01', { zone });
      const end = start.plus({ days: trial.days ?? 100 });
      const axis = makeAxis({
        startEpochMs: start.toMillis(),
        stepMinutes,
        intervals: Math.round((end.toMillis() - start.toMillis()) / (stepMinutes * 60_000)),
        zone,
      });
      const hourlyPrices: Record<string, number[]> = {};
      const series: Record<string, PriceSeries> = {};
      if (trial.spot) {
        const hours = Math.ceil((axis.endEpochMs - axis.startEpochMs) / 3_600_000);
        // A made-up market: two humps a day, now and then below zero; four decimals.
        hourlyPrices['spot.csv'] = Array.from(
          { length: hours },
          (_, h) => Math.round((0.06 + 0.05 * Math.sin(h / 3.8) + 0.04 * Math.sin(h / 41)) * 1e4) / 1e4,
        );
        series['spot.csv'] = {
          startEpochMs: axis.startEpochMs,
          stepMinutes: 60,
          pricePerKwh: Float64Array.from(hourlyPrices['spot.csv']),
        };
      }
      const account = trial.account ?? {};
      return {
        name,
        tariff: parseTariff(JSON.parse(readFileSync(new URL(file, folder), 'utf8')), file),
        axis,
        options: { account, series },
        account,
        hourlyPrices,
        grain: trial.grain ?? Math.min(30, stepMinutes),
      };
    });
}

/** A home's flows from a seed: whole watt-hours, solar by day, now and then a long absence. */
export function randomFlows(seed: number, intervals: number, stepMinutes: number) {
  let state = seed;
  const next = () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
  const size = 0.2 + 3 * next();
  const solar = next() < 0.3 ? 0 : 6 * next();
  const importKwh = new Float64Array(intervals);
  const exportKwh = new Float64Array(intervals);
  let away = 0;
  let month = 1;
  for (let i = 0; i < intervals; i++) {
    const hour = ((i * stepMinutes) / 60) % 24;
    // Some months take far more than others, so that ratchets bind and blocks fill.
    if ((i * stepMinutes) % (30 * 1440) === 0) month = 0.3 + 1.4 * next() ** 2;
    if (away > 0) away--;
    else if (next() < 1e-3) away = (next() * 400) | 0;
    const load = (away > 0 ? 0.05 : size * month * next() * (hour > 16 && hour < 22 ? 1.8 : 0.7)) * (stepMinutes / 60);
    const sun = solar * Math.max(0, Math.sin(((hour - 6) / 13) * Math.PI)) * next() * (stepMinutes / 60);
    importKwh[i] = Math.round(Math.max(0, load - sun) * 1000) / 1000;
    exportKwh[i] = Math.round(Math.max(0, sun - load) * 1000) / 1000;
  }
  return { importKwh, exportKwh };
}
