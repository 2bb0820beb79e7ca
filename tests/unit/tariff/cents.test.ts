// Bills that are off by a cent, by two and by three: what is exact, what is rounding, and what has a cause.
import { makeAxis } from '@duskbank/core/axis';
import { type ActualBill, billTariff, compileTariff, parseTariff, reconcileBills } from '@duskbank/core/tariff';
import { describe, expect, it } from 'vitest';

const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 1), stepMinutes: 60, intervals: 24 * 181, zone: 'Etc/UTC' });
const importKwh = Float64Array.from({ length: axis.intervals }, (_, i) => 0.5 + 0.25 * ((i * 7) % 5));
const flows = { importKwh, exportKwh: new Float64Array(axis.intervals) };
const tariffOf = (pricePerKwh: number, more: object = {}) =>
  parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Plain',
    currency: 'USD',
    windows: [{ name: 'all', otherwise: true, pricePerKwh }],
    export: { kind: 'none' },
    ...more,
  });
const tariff = tariffOf(0.2);
const billsOf = (some = tariff): ActualBill[] =>
  billTariff(compileTariff(some, axis), flows).periods.map(({ start, end, total }) => ({ start, end, total }));
const own = billsOf();
const off = (cents: readonly number[], bills = own, by = tariff) =>
  reconcileBills(
    by,
    axis,
    {},
    flows,
    bills
      .slice(0, cents.length)
      .map((bill, k) => ({ ...bill, total: Number((bill.total + cents[k]! / 100).toFixed(2)) })),
  );
const codes = (cents: readonly number[]) => off(cents).causes.map(({ code }) => code);

describe('bills over hundreds', () => {
  it('a cent on each is exact, more and less', () => {
    for (const cents of [
      [1, 1, 1, 1, 1, 1],
      [-1, -1, -1, -1, -1, -1],
      [1, -1, 0, 1, 0, -1],
    ])
      expect(off(cents), String(cents)).toMatchObject({ verdict: 'exact', causes: [] });
  });

  it('two cents on one of them are no longer exact, and rounding', () => {
    expect(off([0, 0, 2, 0, 0, 0])).toMatchObject({ verdict: 'trust', causes: [] });
    expect(off([2, 2, 2, 2, 2, 2])).toMatchObject({ verdict: 'trust', causes: [] });
    expect(off([-2, -2, -2, -2, -2, -2])).toMatchObject({ verdict: 'trust', causes: [] });
  });

  it('three cents on each have a cause: they are more than rounding makes', () => {
    expect(off([3, 3, 3, 3, 3, 3])).toMatchObject({
      verdict: 'trust',
      causes: [{ code: 'fixed-per-bill', data: { amountPerBill: 0.03 } }],
    });
  });

  it('what nothing explains is said to be so from more than twice two cents on', () => {
    expect(codes([4, -4, 4, -4, 0, 1])).toEqual([]);
    expect(codes([5, -5, 5, -4, 0, 1])).toEqual(['unexplained']);
  });
});

describe('bills of less than a dollar', () => {
  const small = tariffOf(0.0005);
  const bills = billsOf(small);
  it('two cents are near, three are off', () => {
    expect(Math.max(...bills.map((bill) => bill.total))).toBeLessThan(1);
    expect(off([2, 0, 2, 0, 2, 0], bills, small).verdict).toBe('near');
    expect(off([3, 0, 3, 0, 3, 0], bills, small).verdict).toBe('off');
  });
  it('are off by two cents with a cause, for nobody trusts them', () => {
    expect(off([2, 2, 2, 2, 2, 2], bills, small)).toMatchObject({
      verdict: 'near',
      causes: [{ code: 'fixed-per-bill', data: { amountPerBill: 0.02 } }],
    });
  });
});

describe('shares of bills over thousands', () => {
  // From month to month more, so that no amount a bill fits.
  const large = { ...flows, importKwh: importKwh.map((kwh, i) => kwh * 100 * (1 + Math.floor(i / 720) / 3)) };
  const charged = billTariff(compileTariff(tariff, axis), large).periods;
  const times = (factor: number) =>
    reconcileBills(
      tariff,
      axis,
      {},
      large,
      charged.map(({ start, end, total }) => ({ start, end, total: Math.round(total * factor * 100) / 100 })),
    );

  it('under a thousandth of a per cent are no tax, and told as unexplained', () => {
    expect(Math.min(...charged.map(({ total }) => total))).toBeGreaterThan(10_000);
    expect(times(1.000009).causes.map(({ code }) => code)).toEqual(['unexplained']);
  });
  it('above it are', () => expect(times(1.000012).causes.map(({ code }) => code)).toEqual(['tax']));
});
