import { makeAxis } from '@duskbank/core/axis';
import { billTariff, billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { expect, it } from 'vitest';

it('a two-window year: windows, bills and the unrounded total agree', () => {
  const axis = makeAxis({
    startEpochMs: Date.UTC(2026, 0, 1, 7),
    stepMinutes: 15,
    intervals: 35040,
    zone: 'America/Denver',
  });
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Evening',
    currency: 'USD',
    rounding: { at: 'never' },
    holidays: ['us-six'],
    windows: [
      { name: 'on-peak', days: 'weekday', from: '16:00', to: '21:00', pricePerKwh: 0.42 },
      { name: 'off-peak', otherwise: true, pricePerKwh: 0.14 },
    ],
    export: { kind: 'net-billing', byWindow: { 'on-peak': 0.1, 'off-peak': 0.05 } },
    fixed: [{ name: 'Customer charge', amount: 12 }],
    taxes: [{ name: 'City tax', percent: 3 }],
  });
  const compiled = compileTariff(tariff, axis);
  expect(compiled.warnings).toEqual([]);
  expect(compiled.windows).toEqual([
    { name: 'off-peak', kind: 'off-peak' },
    { name: 'on-peak', kind: 'peak' },
  ]);
  expect(compiled.periods.map((p) => p.days)).toEqual([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]);
  const importKwh = Float64Array.from({ length: 35040 }, (_, i) => (i % 7) * 0.1);
  const exportKwh = Float64Array.from({ length: 35040 }, (_, i) => (i % 5 === 0 ? 0.2 : 0));
  const bill = billTariff(compiled, { importKwh, exportKwh });
  expect(bill.total).toBeCloseTo(billTotal(compiled, { importKwh, exportKwh }), 6);
  expect(bill.periods[0]!.lines.map((line) => line.name)).toEqual([
    'Energy, off-peak',
    'Energy, on-peak',
    'Export credit, off-peak',
    'Export credit, on-peak',
    'Customer charge',
    'City tax',
  ]);
});
