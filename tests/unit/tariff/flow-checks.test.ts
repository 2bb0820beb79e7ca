import { makeAxis } from '@duskbank/core/axis';
import { InputError } from '@duskbank/core/input';
import { billTariff, billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';

const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 1), stepMinutes: 60, intervals: 48, zone: 'Etc/UTC' });
const compiled = compileTariff(
  parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Flat',
    currency: 'USD',
    windows: [{ name: 'all hours', otherwise: true, pricePerKwh: 0.2 }],
    export: { kind: 'net-billing', pricePerKwh: 0.05 },
  }),
  axis,
);
const flows = (change: { importKwh?: Float64Array; exportKwh?: Float64Array } = {}) => ({
  importKwh: new Float64Array(48).fill(1),
  exportKwh: new Float64Array(48),
  ...change,
});
const withValue = (value: number) => new Float64Array(48).fill(value, 7, 9);
const faults = (run: () => unknown) => {
  try {
    run();
  } catch (error) {
    expect(error).toBeInstanceOf(InputError);
    return (error as InputError).issues.map(({ code, where }) => [code, ...where.path!]);
  }
  return [];
};

describe('what passes the service is checked before it is billed', () => {
  test.each([
    ['too short', 47],
    ['too long', 49],
  ])('arrays that are %s, by both', (_, length) => {
    for (const bill of [billTariff, billTotal]) {
      expect(faults(() => bill(compiled, flows({ importKwh: new Float64Array(length) })))).toEqual([
        ['length-mismatch', 'flows', 'importKwh'],
      ]);
      expect(faults(() => bill(compiled, flows({ exportKwh: new Float64Array(length) })))).toEqual([
        ['length-mismatch', 'flows', 'exportKwh'],
      ]);
    }
  });

  test.each([
    [Number.NaN, 'not-finite'],
    [Number.POSITIVE_INFINITY, 'not-finite'],
    [Number.NEGATIVE_INFINITY, 'not-finite'],
    [-0.5, 'out-of-range'],
    [2e9, 'out-of-range'],
  ])('%s, by both, with the place of the first', (value, code) => {
    // No term of this tariff sums up energy: the total has to look itself.
    expect(compiled.terms).toEqual([]);
    for (const bill of [billTariff, billTotal])
      for (const field of ['importKwh', 'exportKwh'])
        expect(faults(() => bill(compiled, flows({ [field]: withValue(value) })))).toEqual([[code, 'flows', field, 7]]);
  });

  test('a fault in the last intervals, which no four of a kind hold', () => {
    const short = makeAxis({ startEpochMs: Date.UTC(2026, 0, 1), stepMinutes: 60, intervals: 47, zone: 'Etc/UTC' });
    const tariff = parseTariff({
      format: 'duskbank.tariff/1',
      name: 'Flat',
      currency: 'USD',
      windows: [{ name: 'all hours', otherwise: true, pricePerKwh: 0.2 }],
    });
    const importKwh = new Float64Array(47).fill(1).fill(-1, 46);
    for (const bill of [billTariff, billTotal])
      expect(faults(() => bill(compileTariff(tariff, short), { importKwh, exportKwh: new Float64Array(47) }))).toEqual([
        ['out-of-range', 'flows', 'importKwh', 46],
      ]);
  });

  test('what is right passes', () => {
    expect(billTariff(compiled, flows()).total).toBe(9.6);
    expect(billTotal(compiled, flows())).toBeCloseTo(9.6, 12);
  });
});
