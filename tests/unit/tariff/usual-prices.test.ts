import { makeAxis } from '@duskbank/core/axis';
import { billTariff, compileTariff, parseTariff, reconcileBills } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import { randomFlows } from '../../support/tariff-fixtures.ts';

const axis = makeAxis({
  startEpochMs: Date.UTC(2026, 0, 1, 7),
  stepMinutes: 60,
  intervals: 24 * 120,
  zone: 'America/Denver',
});

const flat = (pricePerKwh: number, more: object = {}) => ({
  format: 'duskbank.tariff/1',
  name: 'T',
  currency: 'USD',
  energy: [{ name: 'Energy', pricePerKwh }],
  ...more,
});

const questions = (document: object, series = {}) =>
  compileTariff(parseTariff(document), axis, { series }).warnings.filter(({ code }) => code === 'price-unusual');

describe('prices that can’t be meant are asked about', () => {
  // Limits: a fifth and two and a half times the usual range of the table, 0.05 to 0.40 for dollars (common practice, no source).
  test.each([
    [14.5, 'hundredths', 'write 0.145'],
    [145, 'per-mwh', 'write 0.145'],
    [2.01, null, 'homes usually pay 0.05 to 0.4'],
    [0.0099, null, 'homes usually pay 0.05 to 0.4'],
    [0.0014, 'divided-by-100', 'write 0.14'],
    [0.00014, 'divided-by-1000', 'write 0.14'],
  ])('%d dollars a kWh', (price, slip, words) => {
    const [question, ...others] = questions(flat(price));
    expect(others).toEqual([]);
    expect(question).toMatchObject({ severity: 'question', data: { pricePerKwh: price, slip, currency: 'USD' } });
    expect(question!.message).toContain(words);
  });

  test('one window alone in another unit is asked about, a free one is not', () => {
    const windows = (pricePerKwh: number) => ({
      format: 'duskbank.tariff/1',
      name: 'T',
      currency: 'USD',
      windows: [
        { name: 'evening', days: 'all', from: '17:00', to: '21:00', pricePerKwh: 0.42 },
        { name: 'rest', otherwise: true, pricePerKwh },
      ],
    });
    expect(questions(windows(0.00024)).map(({ data }) => data)).toMatchObject([{ charge: 'rest', way: 'below' }]);
    expect(questions(windows(0))).toEqual([]);
    // A night of 0.05 is real.
    expect(questions(windows(0.05))).toEqual([]);
  });

  test.each([1, 2, 3])(
    'of %d windows the dearest gives the name, and each other charge is asked about by its own',
    (count) => {
      const times = ['00:00', '06:00', '17:00', '24:00'];
      const rates = (of: (k: number) => number, more: object) => ({
        format: 'duskbank.tariff/1',
        name: 'T',
        currency: 'USD',
        windows: Array.from({ length: count }, (_, k) =>
          k === count - 1
            ? { name: 'rest', otherwise: true, pricePerKwh: of(k) }
            : { name: `window ${k}`, days: 'all', from: times[k], to: times[k + 1], pricePerKwh: of(k) },
        ),
        ...more,
      });
      const asked = (of: (k: number) => number, more: object = {}) =>
        questions(rates(of, more)).map(({ data }) => (data as { readonly charge: string }).charge);
      expect(asked((k) => 12 + k)).toEqual(['rest']);
      expect(asked((k) => 20 - k)).toEqual([count === 1 ? 'rest' : 'window 0']);
      expect(asked((k) => 0.12 + k / 100)).toEqual([]);
      const rider = { energy: [{ name: 'Rider', pricePerKwh: 3 }] };
      expect(asked((k) => 0.12 + k / 100, rider)).toEqual(['Rider']);
      const credit = { export: { kind: 'net-billing', name: 'Credit', pricePerKwh: 5 } };
      expect(asked((k) => 0.12 + k / 100, credit)).toEqual(['Credit']);
      expect(asked((k) => 12 + k, { ...rider, ...credit }).toSorted()).toEqual(['Credit', 'Rider', 'rest']);
    },
  );

  test.each([
    ['within the limits', flat(1)],
    ['and at the lower one', flat(0.01)],
    ['a window that costs nothing', flat(0)],
    ['stated to be right', flat(14.5, { unusualPrices: true })],
    ['another currency', flat(14.5, { currency: 'JPY' })],
    ['a currency that isn’t in the table', flat(14.5, { currency: 'KWD' })],
    [
      'a small rider beside a usual price',
      flat(0.14, {
        energy: [
          { name: 'Energy', pricePerKwh: 0.14 },
          { name: 'Rider', pricePerKwh: 0.002 },
        ],
      }),
    ],
  ])('nothing is asked: %s', (_, document) => {
    expect(questions(document)).toEqual([]);
  });

  test('several prices that are off tell their unit together', () => {
    const windows = [
      { name: 'peak', from: '16:00', to: '21:00', pricePerKwh: 48 },
      { name: 'rest', otherwise: true, pricePerKwh: 16 },
    ];
    // 48 alone would rather be of a MWh.
    expect(questions(flat(0, { energy: undefined, windows }))).toMatchObject([
      { data: { charge: 'peak', slip: 'hundredths' } },
    ]);
  });

  test('one window in cents among others in dollars, and the credit for export', () => {
    const asked = questions(
      flat(0, {
        energy: undefined,
        windows: [
          { name: 'peak', from: '16:00', to: '21:00', pricePerKwh: 41.25 },
          { name: 'rest', otherwise: true, pricePerKwh: 0.18 },
        ],
        export: { kind: 'net-billing', pricePerKwh: 6.25 },
      }),
    );
    expect(asked.map(({ data: { charge, pricePerKwh } }) => [charge, pricePerKwh])).toEqual([
      ['peak', 41.25],
      ['Export credit', 6.25],
    ]);
  });

  describe('one window a place off, where the others are right', () => {
    const asks = (prices: Record<string, number>, more: object = {}) => {
      const hours = ['00:00', '07:00', '16:00', '21:00', '24:00'];
      const names = Object.keys(prices);
      const windows = names.map((name, k) => ({
        name,
        from: hours[k]!,
        to: k === names.length - 1 ? '24:00' : hours[k + 1]!,
        pricePerKwh: prices[name]!,
      }));
      const { warnings } = compileTariff(parseTariff(flat(0, { energy: undefined, windows, ...more })), axis);
      return warnings.filter(({ code }) => code === 'price-unusual' || code === 'price-low');
    };

    test.each([
      ['a dear hour', { night: 0.1, day: 0.11, peak: 1.3 }, 'above', 'peak', '0.13'],
      ['a day', { night: 0.08, day: 0.9, evening: 0.15 }, 'above', 'day', '0.09'],
      ['a dear hour of cheap prices', { night: 0.04, day: 0.06, evening: 0.9 }, 'above', 'evening', '0.09'],
      ['a cheap night', { night: 0.013, day: 0.25, evening: 0.35 }, 'below', 'night', '0.13'],
      ['a night that is usually dear', { night: 0.031, day: 0.31, evening: 0.35 }, 'below', 'night', '0.31'],
      ['a peak', { night: 0.1, day: 0.16, peak: 0.031 }, 'below', 'peak', '0.31'],
      ['a peak within what is usual', { 'off-peak': 0.12, shoulder: 0.2, 'on-peak': 0.06 }, 'below', 'on-peak', '0.6'],
      ['an off-peak', { 'off-peak': 0.7, peak: 0.15 }, 'above', 'off-peak', '0.07'],
    ] as const)('%s', (_, prices, way, charge, cure) => {
      const asked = asks(prices);
      expect(asked).toMatchObject([{ code: 'price-unusual', severity: 'question', data: { way, charge } }]);
      expect(asked[0]!.message).toContain(`"${charge}" is USD`);
      expect(asked[0]!.message).toContain(`Then write ${cure}`);
      expect(asks(prices, { unusualPrices: true })).toEqual([]);
    });

    test('other charges on the same kWh count', () => {
      const prices = { night: 0.013, day: 0.25, evening: 0.35 };
      expect(asks(prices, { energy: [{ name: 'Supply', pricePerKwh: 0.09 }] })).toEqual([]);
      // Delivery by the hour that is next to nothing at night, beside supply in windows.
      const energy = [
        {
          name: 'Delivery',
          windows: [
            { name: 'low', from: '00:00', to: '06:00', pricePerKwh: 0.004 },
            { name: 'high', otherwise: true, pricePerKwh: 0.09 },
          ],
        },
      ];
      expect(asks({ night: 0.11, day: 0.25 }, { energy })).toEqual([]);
    });

    test('a price that some homes pay is told, and withholds nothing', () => {
      expect(asks({ night: 0.1, between: 0.031, evening: 0.45 })).toMatchObject([
        { code: 'price-low', severity: 'warning', data: { charge: 'between', pricePerKwh: 0.031 } },
      ]);
    });

    // Shapes that exist, from memory: a night at a tenth of the dearest hour, a free stretch, controlled load, called days.
    test.each([
      ['a night at a tenth', 'CAD', { night: 0.028, day: 0.122, evening: 0.284 }],
      ['a cheap night', 'EUR', { night: 0.05, day: 0.34 }],
      ['a free stretch', 'AUD', { night: 0.29, noon: 0, evening: 0.62 }],
      ['dear summers', 'USD', { 'off-peak': 0.31, 'on-peak': 0.79 }],
      ['a night of a fifth', 'GBP', { night: 0.07, day: 0.31 }],
    ] as const)('%s is real', (_, currency, prices) => {
      expect(asks(prices, { currency }).filter(({ severity }) => severity === 'question')).toEqual([]);
    });

    test('nor is an event of 1.15, or a first block', () => {
      const blocks = [{ upToKwhPerDay: 3, pricePerKwh: 0.031 }, { pricePerKwh: 0.0897 }];
      expect(questions(flat(0, { energy: [{ name: 'Energy', blocks }] }))).toEqual([]);
      const events = [{ name: 'Called', dates: ['2026-01-20'], from: '16:00', to: '20:00', pricePerKwh: 1.15 }];
      expect(asks({ night: 0.1, peak: 0.24 }, { events })).toEqual([]);
    });
  });

  test('an export table whose single hours earn much is real', () => {
    const pricesByHour = Array.from({ length: 24 }, (_, h) => (h === 19 ? 2.9 : 0.06));
    const exportTable = { kind: 'net-billing', table: [{ pricesByHour }] };
    expect(questions(flat(0.2, { export: exportTable }))).toEqual([]);
  });

  test('of a price series the mean counts: an hour may cost anything', () => {
    const document = flat(0, { energy: [{ name: 'Spot', series: { file: 'p.csv' } }] });
    const prices = (mean: number) => ({
      'p.csv': {
        startEpochMs: axis.startEpochMs,
        stepMinutes: 60,
        pricePerKwh: Array.from({ length: axis.intervals }, (_, k) => (k === 7 ? 9 : mean)),
      },
    });
    expect(questions(document, prices(0.08))).toEqual([]);
    expect(questions(document, prices(80))).toMatchObject([{ data: { charge: 'Spot', slip: 'per-mwh' } }]);
  });
});

test('a tenth of what homes pay is told, and withholds nothing', () => {
  const low = (pricePerKwh: number, more: object = {}) =>
    compileTariff(parseTariff(flat(pricePerKwh, more)), axis).warnings.filter(({ code }) => code === 'price-low');
  // Limits: below 0.05, the least of the table for dollars, and above a fifth of it, which is asked about.
  expect(low(0.027)).toMatchObject([{ severity: 'warning', data: { pricePerKwh: 0.027, leastPerKwh: 0.05 } }]);
  expect(questions(flat(0.027))).toEqual([]);
  expect([...low(0.051), ...low(0.0099), ...low(0.027, { unusualPrices: true })]).toEqual([]);
});

test.each([
  [100, 0.01, 'the tariff file’s prices per kWh are 100 times those charged'],
  [0.001, 1000, 'the prices charged per kWh are 1000 times those of the tariff file'],
])('bills name the unit as the cause: prices times %d', (times, priceFactor, words) => {
  const more = { fixed: [{ name: 'Service', amount: 11.5 }], taxes: [{ name: 'Tax', percent: 3.5 }] };
  const flows = randomFlows(3, axis.intervals, axis.stepMinutes);
  const charged = billTariff(compileTariff(parseTariff(flat(0.1432, more)), axis), flows);
  // 120 days from 1 January: the last bill is whole too.
  const bills = charged.periods.slice(0, 3).map(({ start, end, total }) => ({ start, end, total }));
  const { causes } = reconcileBills(parseTariff(flat(0.1432 * times, more)), axis, {}, flows, bills);
  expect(causes).toMatchObject([{ code: 'price-unit', data: { priceFactor } }]);
  expect(causes[0]!.message).toContain(words);
});

test.each([
  [-0.02, true],
  [0, false],
  [0.02, false],
])('what is exported earns %d a kWh: asked %s', (pricePerKwh, isAsked) => {
  const document = flat(0.2, { export: { kind: 'net-billing', name: 'Credit', pricePerKwh } });
  const { warnings } = compileTariff(parseTariff(document), axis);
  expect(warnings.some(({ code }) => code === 'export-below-zero')).toBe(isAsked);
});
