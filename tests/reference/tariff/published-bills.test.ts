import { makeAxis } from '@duskbank/core/axis';
import { type Bill, billTariff, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, it } from 'vitest';

/** A tariff file's fields beside the ones that every file has. */
type Rates = Record<string, unknown>;

const zone = 'Etc/UTC';

/** An hourly axis over whole months of 2025. */
function monthsOf2025(firstMonth: number, months: number) {
  const startEpochMs = Date.UTC(2025, firstMonth - 1, 1);
  const endEpochMs = Date.UTC(2025, firstMonth - 1 + months, 1);
  return makeAxis({ startEpochMs, stepMinutes: 60, intervals: (endEpochMs - startEpochMs) / 3_600_000, zone });
}

/** Bills a tariff for energy that `share` spreads: kWh of interval i. */
function bill(rates: Rates, axis: ReturnType<typeof makeAxis>, kwhAt: (i: number) => number, account = {}): Bill {
  const tariff = parseTariff({ format: 'duskbank.tariff/1', name: 'Published', currency: 'USD', ...rates });
  const importKwh = Float64Array.from({ length: axis.intervals }, (_, i) => kwhAt(i));
  return billTariff(compileTariff(tariff, axis, { account }), {
    importKwh,
    exportKwh: new Float64Array(axis.intervals),
  });
}

/** The same energy in every interval, so many kWh in all. */
const even = (axis: ReturnType<typeof makeAxis>, kwh: number) => () => kwh / axis.intervals;

/** All energy in the first interval. */
const atOnce = (kwh: number) => (i: number) => (i === 0 ? kwh : 0);

describe('published bills', () => {
  // River Falls (WI) Municipal Utilities, "Time-of-Day Rates", rates as of 2020-09-29. The customer charge of 14.00 is
  // what the published totals imply. Totals there are cut or rounded at the half cent: within a cent.
  it.each([
    ['no shift', 0.45, 96.58],
    ['10 % shifted', 0.35, 88.14],
    ['15 % shifted', 0.3, 83.92],
    ['20 % shifted', 0.25, 79.7],
  ])('River Falls time-of-day rate, %s', (_, peakShare, total) => {
    const axis = monthsOf2025(6, 1);
    const { weekday, minuteOfDay } = axis.calendar;
    const isPeak = (i: number) => weekday[i]! <= 5 && minuteOfDay[i]! >= 480 && minuteOfDay[i]! < 1200;
    const peaks = Array.from({ length: axis.intervals }, (__, i) => isPeak(i)).filter(Boolean).length;
    const rates = {
      windows: [
        { name: 'on-peak', days: 'weekday', from: '08:00', to: '20:00', pricePerKwh: 0.191 },
        { name: 'off-peak', otherwise: true, pricePerKwh: 0.066 },
      ],
      fixed: [{ name: 'Customer charge', amount: 14 }],
    };
    const kwh = 675.54;
    const result = bill(rates, axis, (i) =>
      isPeak(i) ? (kwh * peakShare) / peaks : (kwh * (1 - peakShare)) / (axis.intervals - peaks),
    );
    expect(Math.abs(result.total - total)).toBeLessThanOrEqual(0.0100001);
  });

  it('River Falls standard rate', () => {
    const axis = monthsOf2025(6, 1);
    const rates = {
      energy: [{ name: 'Energy', pricePerKwh: 0.111 }],
      fixed: [{ name: 'Customer charge', amount: 14 }],
    };
    expect(Math.abs(bill(rates, axis, even(axis, 675.54)).total - 88.98)).toBeLessThanOrEqual(0.0100001);
  });

  // City of Seymour municipal electricity, "Billing Calculation Examples". Lines are rounded before they are added.
  const seymour = {
    seasons: [
      { name: 'summer', months: [6, 7, 8, 9] },
      { name: 'winter', months: [1, 2, 3, 4, 5, 10, 11, 12] },
    ],
    energy: [
      {
        name: 'Energy',
        seasons: 'winter',
        blocks: [{ upToKwh: 250, pricePerKwh: 0.064 }, { upToKwh: 700, pricePerKwh: 0.049 }, { pricePerKwh: 0.0446 }],
      },
      {
        name: 'Energy',
        seasons: 'summer',
        blocks: [
          { upToKwh: 250, pricePerKwh: 0.064 },
          { upToKwh: 700, pricePerKwh: 0.049 },
          { upToKwh: 1250, pricePerKwh: 0.0475 },
          { pricePerKwh: 0.0446 },
        ],
      },
      { name: 'Power cost', pricePerKwh: 0.085 },
    ],
    fixed: [{ name: 'Customer charge', amount: 7.5 }],
    taxes: [{ name: 'Tax', percent: 1 }],
  };
  it.each([
    ['winter', 1, 1200, 171.55, [16, 22.05, 22.3, 102, 7.5, 1.7]],
    ['summer', 7, 2000, 277.88, [16, 22.05, 26.13, 33.45, 170, 7.5, 2.75]],
  ])('Seymour, %s', (_, month, kwh, total, amounts) => {
    const axis = monthsOf2025(month, 1);
    const result = bill(seymour, axis, even(axis, kwh));
    expect(result.periods[0]!.lines.map((line) => line.amount)).toEqual(amounts);
    expect(result.total).toBe(total);
  });

  // Runestone Electric (MN), "Demand charge": 0.077 a kWh, 15-minute demand at 10 a kW June to August, else 6.50.
  const runestone = {
    seasons: [
      { name: 'summer', months: [6, 7, 8] },
      { name: 'other', months: [1, 2, 3, 4, 5, 9, 10, 11, 12] },
    ],
    energy: [{ name: 'Energy', pricePerKwh: 0.077 }],
    demand: [
      { name: 'Demand', seasons: 'summer', pricePerKw: 10, averagingMinutes: 60 },
      { name: 'Demand, other months', seasons: 'other', pricePerKw: 6.5, averagingMinutes: 60 },
    ],
  };
  it.each([
    [1, 1, 7.27],
    [7, 1, 10.77],
    [1, 10, 65.77],
    [7, 10, 100.77],
  ])('Runestone demand charge, month %i, %i kW', (month, kw, total) => {
    const axis = monthsOf2025(month, 1);
    expect(bill(runestone, axis, (i) => (i < 10 / kw ? kw : 0)).total).toBe(total);
  });

  // JCPB (TN): 9975 − 8865 = 1110 kWh at 0.0951, availability 18.48; the sum is reckoned here.
  it('JCPB meter readings', () => {
    const rates = {
      energy: [{ name: 'Energy', pricePerKwh: 0.0951 }],
      fixed: [{ name: 'Availability', amount: 18.48 }],
    };
    const result = bill(rates, monthsOf2025(4, 1), atOnce(9975 - 8865));
    expect(result.periods[0]!.lines[0]!.amount).toBe(105.56);
    expect(result.total).toBe(124.04);
  });
});
