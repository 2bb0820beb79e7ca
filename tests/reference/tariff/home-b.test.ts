import { makeAxis } from '@duskbank/core/axis';
import { billTariff, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, it } from 'vitest';
import { openData, openDataPresent } from '../../support/open-data.ts';

const FILE = 'home-b/home-b-hourly-utility-download.csv';

/**
 * The tariff that the costs of home-b's rows speak for: two blocks, baseline by season, prices that change six times a
 * year. Prices are fitted to the rows (cost ÷ kWh, both rounded to cents and 0.01 kWh), dates and baselines read off
 * where the price falls back or rises. See docs/concepts/validation-bills.md.
 */
const blocks = (low: number, high: number) => ({
  energy: [{ name: 'Energy', blocks: [{ upToBaseline: 1, pricePerKwh: low }, { pricePerKwh: high }] }],
});
const tariff = parseTariff({
  format: 'duskbank.tariff/1',
  name: 'Fitted to home-b',
  currency: 'USD',
  seasons: [
    { name: 'summer', months: [6, 7, 8, 9] },
    { name: 'winter', months: [1, 2, 3, 4, 5, 10, 11, 12] },
  ],
  baseline: [
    { seasons: 'summer', kwhPerDay: 6.5 },
    { seasons: 'winter', kwhPerDay: 7.5 },
  ],
  ...blocks(0.3595, 0.4467),
  versions: [
    { from: '2024-01-01', ...blocks(0.4201, 0.5256) },
    { from: '2024-03-01', ...blocks(0.4218, 0.5265) },
    { from: '2024-04-01', ...blocks(0.4272, 0.5343) },
    { from: '2024-06-01', ...blocks(0.4266, 0.5343) },
    { from: '2024-07-01', ...blocks(0.3881, 0.4858) },
    { from: '2024-09-01', ...blocks(0.3896, 0.4894) },
    { from: '2024-10-01', ...blocks(0.4019, 0.5024) },
  ],
});
const readDates = [
  '2023-12-15',
  '2024-01-16',
  '2024-02-14',
  '2024-03-15',
  '2024-04-16',
  '2024-05-15',
  '2024-06-13',
  '2024-07-15',
  '2024-08-14',
  '2024-09-13',
  '2024-10-14',
  '2024-11-13',
  '2024-12-13',
  '2025-01-14',
];

describe.skipIf(!openDataPresent)(
  'home-b: the utility’s own cost of each hour (open data; skipped where it is absent)',
  () => {
    const rows = openDataPresent ? readRows() : [];
    // The file's clock labels on an axis without clock changes: the skipped hour is 0, the file holds no repeated one.
    const axis = makeAxis({
      startEpochMs: Date.UTC(2023, 11, 19),
      stepMinutes: 60,
      intervals: 367 * 24,
      zone: 'Etc/UTC',
    });
    const importKwh = new Float64Array(axis.intervals);
    const cost = new Float64Array(axis.intervals);
    for (const row of rows) {
      const i = (row.at - axis.startEpochMs) / 3_600_000;
      importKwh[i] = row.kwh;
      cost[i] = row.cost;
    }
    const compiled = compileTariff(tariff, axis, { account: { readDates } });
    const bill = billTariff(compiled, { importKwh, exportKwh: new Float64Array(axis.intervals) });

    it('the file’s totals are those that its origin states', () => {
      expect(rows).toHaveLength(8807);
      expect(rows.reduce((sum, row) => sum + row.kwh, 0)).toBeCloseTo(3912.4, 0);
      expect(rows.reduce((sum, row) => sum + row.cost, 0)).toBeCloseTo(1719.86, 2);
    });

    // The first and the last bill are cut by the data: what the home used before, and how long the last one ran, isn't there.
    const whole = compiled.periods
      .map((period, p) => ({
        period,
        ours: bill.periods[p]!.total,
        charged: cost.subarray(period.first, period.end).reduce((a, b) => a + b, 0),
      }))
      .filter(({ period }) => period.days === period.fullDays);

    it('the fitted tariff gives each of eleven whole bills to 0.8 %, and all of them to 0.5 %', () => {
      expect(whole).toHaveLength(11);
      for (const { period, ours, charged } of whole)
        expect(Math.abs(ours / charged - 1), period.startDate).toBeLessThan(0.008);
      const sum = (pick: 'ours' | 'charged') => whole.reduce((total, row) => total + row[pick], 0);
      expect(Math.abs(sum('ours') / sum('charged') - 1)).toBeLessThan(0.005);
    });

    it('from the middle of March on the difference is one day more of baseline a bill, to 20 cents', () => {
      const blockStep = { winter: 7.5 * 0.1, summer: 6.5 * 0.1 };
      for (const { period, ours, charged } of whole.slice(2, 10)) {
        const month = Number(period.startDate.slice(5, 7));
        const step = month >= 6 && month <= 9 ? blockStep.summer : blockStep.winter;
        expect(Math.abs(ours - charged - step), period.startDate).toBeLessThan(0.2);
      }
    });

    it('no hour of the day has a price of its own', () => {
      // Mean cost ÷ kWh of each hour in the first block of the longest span of one price, October to December 2024.
      const from = (Date.UTC(2024, 9, 1) - axis.startEpochMs) / 3_600_000;
      for (let hour = 0; hour < 24; hour++) {
        let [kwh, money] = [0, 0];
        for (let i = from + hour; i < axis.intervals; i += 24)
          if (importKwh[i]! >= 0.2 && cost[i]! / importKwh[i]! < 0.45) {
            kwh += importKwh[i]!;
            money += cost[i]!;
          }
        expect(Math.abs(money / kwh - 0.4019), `hour ${hour}`).toBeLessThan(0.006);
      }
    });
  },
);

function readRows() {
  const text = new TextDecoder().decode(openData(FILE));
  return text.split(/\r?\n/).flatMap((line) => {
    const cells = line.split(',');
    if (cells[0] !== 'Electric usage') return [];
    return [
      { at: Date.parse(`${cells[1]}T${cells[2]}Z`), kwh: Number(cells[4]), cost: Number(cells[5]!.replace('$', '')) },
    ];
  });
}
