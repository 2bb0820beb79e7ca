import { makeAxis } from '@duskbank/core/axis';
import { billTariff, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';

// A charge a bill in one season alone stands on the bills that end in it, whichever of the seasons it is.

const axis = makeAxis({ startEpochMs: Date.UTC(2025, 0, 1), stepMinutes: 60, intervals: 8760, zone: 'Etc/UTC' });
const SEASONS = [
  { name: 'cold', from: '01-01', to: '03-31' },
  { name: 'mild', from: '04-01', to: '06-30' },
  { name: 'warm', from: '07-01', to: '09-30' },
  { name: 'wet', from: '10-01', to: '12-31' },
];
const flows = { importKwh: new Float64Array(8760), exportKwh: new Float64Array(8760) };

test.each(SEASONS.flatMap(({ name }, s) => (['bill', 'month', 'day'] as const).map((per) => [name, per, s] as const)))(
  'season %s, per %s',
  (season, per, s) => {
    const tariff = parseTariff({
      format: 'duskbank.tariff/1',
      name: 'Seasons',
      currency: 'USD',
      seasons: SEASONS,
      energy: [{ name: 'Energy', pricePerKwh: 0.2 }],
      fixed: [{ name: 'Pump', amount: per === 'day' ? 0.5 : 7, per, seasons: [season] }],
    });
    const { periods } = billTariff(compileTariff(tariff, axis), flows);
    expect(periods.map(({ total }) => total)).toEqual(
      periods.map(({ start, end }, p) => {
        if (Math.floor(p / 3) !== s) return 0;
        return per === 'day' ? 0.5 * ((Date.parse(end) - Date.parse(start)) / 86_400_000 + 1) : 7;
      }),
    );
  },
);
