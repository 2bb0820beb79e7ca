import { makeAxis } from '@duskbank/core/axis';
import { billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';

// One day of hours, flat windows: the counts are plain.
const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 24, zone: 'Etc/UTC' });
const compiled = (rates: object) =>
  compileTariff(parseTariff({ format: 'duskbank.tariff/1', name: 'Plain', currency: 'USD', ...rates }), axis);
const windows = [
  { name: 'on-peak', from: '16:00', to: '20:00', pricePerKwh: 0.4 },
  { name: 'day', otherwise: true, pricePerKwh: 0.2 },
];

describe('where the best schedule is no convex problem, a warning says in how many intervals and what follows', () => {
  test('export above import in four hours of the day', () => {
    const { warnings } = compiled({
      windows,
      export: { kind: 'net-billing', byWindow: { 'on-peak': 0.45, day: 0.1 } },
    });
    expect(warnings.map((warning) => warning.code)).toEqual(['export-above-import']);
    expect(warnings[0]!.message).toMatch(/^in 4 intervals/);
    expect(warnings[0]!.message).toMatch(/strategies run as always.*proven bound with a gap/);
  });

  test('a price below zero in six hours', () => {
    const { warnings } = compiled({
      windows: [
        { name: 'paid', from: '00:00', to: '06:00', pricePerKwh: -0.02 },
        { name: 'day', otherwise: true, pricePerKwh: 0.2 },
      ],
      export: { kind: 'net-billing', pricePerKwh: -0.05 },
      unusualPrices: true,
    });
    expect(warnings.map((warning) => warning.code)).toEqual(['negative-price']);
    // The export price is below zero in all 24.
    expect(warnings[0]!.message).toMatch(/^in 24 intervals/);
  });

  test('nothing is said of plain prices', () => {
    expect(compiled({ windows, export: { kind: 'net-billing', pricePerKwh: 0.1 } }).warnings).toEqual([]);
  });
});

const blocks = (first: number, second: number) => ({
  energy: [{ name: 'Energy', blocks: [{ upToKwh: 10, pricePerKwh: first }, { pricePerKwh: second }] }],
});
const flat = { energy: [{ name: 'Energy', pricePerKwh: 0.2 }] };

describe('terms say whether they are convex', () => {
  const terms = (rates: object) =>
    compiled({ export: { kind: 'none' }, ...rates }).terms.map((term) => [term.kind, term.convex]);
  const steps = [{ upToKw: 5, amount: 10 }, { amount: 20 }];

  test('rising blocks are, falling blocks are not', () => {
    expect(terms(blocks(0.1, 0.2))).toContainEqual(['tier', true]);
    expect(terms(blocks(0.2, 0.1))).toContainEqual(['tier', false]);
  });
  test('a price on the maximum is, capacity steps are not', () => {
    expect(terms({ ...flat, demand: [{ name: 'Demand', pricePerKw: 9 }] })).toContainEqual(['demand', true]);
    expect(terms({ ...flat, demand: [{ name: 'Capacity', steps }] })).toContainEqual(['demand', false]);
  });
  test('a minimum bill is not where a term under it is not', () => {
    expect(terms({ ...blocks(0.1, 0.2), minimumBill: { amount: 30 } })).toContainEqual(['minimum', true]);
    expect(terms({ ...blocks(0.2, 0.1), minimumBill: { amount: 30 } })).toContainEqual(['minimum', false]);
    // Falling blocks that it doesn't count are none of its own.
    expect(terms({ ...blocks(0.2, 0.1), minimumBill: { amount: 30, on: 'fixed' } })).toContainEqual(['minimum', true]);
  });
});

describe('a minimum bill is convex only where what stands above it is in order', () => {
  // One day of hours is one bill. Below the minimum a kWh costs what the taxes on it and on the top-up leave of it.
  const windowed = { windows, fixed: [{ name: 'Service', amount: 3 }] };
  const sold = { kind: 'net-billing', pricePerKwh: 0.05 };
  const cases: [what: string, rates: object, convex: boolean][] = [
    ['no tax', { ...windowed, minimumBill: { amount: 9, per: 'bill' } }, true],
    [
      'a tax on everything, the top-up included',
      { ...windowed, minimumBill: { amount: 9, per: 'bill' }, taxes: [{ name: 'Tax', percent: 8 }] },
      true,
    ],
    [
      'a tax on the energy alone: a kWh below the minimum still costs its tax',
      { ...windowed, minimumBill: { amount: 9, per: 'bill' }, taxes: [{ name: 'Tax', percent: 8, on: ['energy'] }] },
      true,
    ],
    [
      'a tax on the top-up alone: a kWh below the minimum saves tax, and costs again above it',
      { ...windowed, minimumBill: { amount: 9, per: 'bill' }, taxes: [{ name: 'Tax', percent: 8, on: ['minimum'] }] },
      false,
    ],
    [
      'a tax on the top-up and the fixed charge, which energy doesn’t bear',
      {
        ...windowed,
        minimumBill: { amount: 9, per: 'bill' },
        taxes: [{ name: 'Tax', percent: 8, on: ['fixed', 'minimum'] }],
      },
      false,
    ],
    [
      'the same where energy isn’t counted',
      {
        ...windowed,
        minimumBill: { amount: 9, per: 'bill', on: ['fixed'] },
        taxes: [{ name: 'Tax', percent: 8, on: ['fixed', 'minimum'] }],
      },
      true,
    ],
    [
      'export credit that it counts as well',
      { ...windowed, export: sold, minimumBill: { amount: 9, per: 'bill' } },
      true,
    ],
    [
      'export credit that it doesn’t count: below the minimum export earns and import is free',
      { ...windowed, export: sold, minimumBill: { amount: 9, per: 'bill', on: ['energy', 'fixed'] } },
      false,
    ],
    [
      'rising blocks with a tax on the top-up alone',
      {
        ...blocks(0.1, 0.2),
        minimumBill: { amount: 9, per: 'bill' },
        taxes: [{ name: 'Tax', percent: 8, on: ['minimum'] }],
      },
      false,
    ],
    [
      'demand under it, untaxed, the top-up taxed',
      {
        ...flat,
        demand: [{ name: 'Demand', pricePerKw: 2 }],
        minimumBill: { amount: 9, per: 'bill', on: ['demand'] },
        taxes: [{ name: 'Tax', percent: 8, on: ['minimum'] }],
      },
      false,
    ],
    [
      'demand under it, taxed alike',
      {
        ...flat,
        demand: [{ name: 'Demand', pricePerKw: 2 }],
        minimumBill: { amount: 9, per: 'bill', on: ['demand'] },
        taxes: [{ name: 'Tax', percent: 8, on: ['minimum', 'demand'] }],
      },
      true,
    ],
    [
      'a discount on energy that the minimum counts',
      {
        ...windowed,
        minimumBill: { amount: 9, per: 'bill' },
        adjustments: [{ name: 'Discount', percent: -20, on: ['energy'] }],
      },
      true,
    ],
    [
      'a discount on energy that the minimum doesn’t count: a kWh saves its discount',
      {
        ...windowed,
        minimumBill: { amount: 9, per: 'bill', on: ['energy', 'fixed'] },
        adjustments: [{ name: 'Discount', percent: -20, on: ['energy'] }],
      },
      false,
    ],
  ];
  const build = (rates: object) => compiled({ export: { kind: 'none' }, ...rates });

  test.each(cases)('%s', (_, rates, convex) => {
    expect(build(rates).terms.find((term) => term.kind === 'minimum')!.convex).toBe(convex);
  });

  test.each(cases)('the bill itself agrees: %s', (_, rates, convex) => {
    // The bill along a line from much export to much import: every second difference 0 at least, or one that is below.
    const tariff = build(rates);
    const ends = [
      { hour: 17, kwh: 60 },
      { hour: 3, kwh: 60 },
    ];
    let least = 0;
    for (const { hour, kwh } of ends) {
      const bills = Array.from({ length: 241 }, (_, k) => {
        const importKwh = new Float64Array(24).fill(0.4);
        const exportKwh = new Float64Array(24);
        const net = ((k - 120) / 120) * kwh;
        importKwh[hour] = Math.max(0, net);
        exportKwh[hour] = Math.max(0, -net);
        return billTotal(tariff, { importKwh, exportKwh });
      });
      for (let k = 1; k < 240; k++) least = Math.min(least, bills[k - 1]! - 2 * bills[k]! + bills[k + 1]!);
    }
    if (convex) expect(least).toBeGreaterThan(-1e-9);
    else expect(least).toBeLessThan(-1e-4);
  });
});

describe('credit carried in money says whether it is convex', () => {
  const carried = (more: object, rates: object = {}) =>
    compiled({
      windows,
      export: { kind: 'net-billing', pricePerKwh: 0.05, carry: 'money', ...more },
      ...rates,
    }).terms.find((term) => term.kind === 'carry')!.convex;

  test('against energy or all of the bill, lost or paid out', () => {
    expect(carried({})).toBe(true);
    expect(carried({ settleShare: 1 })).toBe(true);
    expect(carried({ offsets: 'all' })).toBe(true);
  });
  test('not where a discount leaves less of the energy than the credit pays for', () => {
    const adjustments = [{ name: 'Discount', percent: -20, on: ['energy'] }];
    expect(carried({}, { adjustments })).toBe(false);
    expect(carried({ settleShare: 1 }, { adjustments })).toBe(true);
  });
});
