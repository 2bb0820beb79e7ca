import { makeAxis } from '@duskbank/core/axis';
import { billTariff, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';

// Surplus kWh stand on a bill where they settle or go on as kWh. Credit in money has gone on as money.

const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 1), stepMinutes: 60, intervals: 24 * 120, zone: 'Etc/UTC' });
const blocks = [{ upToKwh: 100, pricePerKwh: 0.2 }, { pricePerKwh: 0.3 }];
const document = (carry: string, inBlocks: boolean) => ({
  format: 'duskbank.tariff/1',
  name: 'Netted',
  currency: 'USD',
  windows: [{ name: 'all', otherwise: true, ...(inBlocks ? { blocks } : { pricePerKwh: 0.2 }) }],
  export: { kind: 'net-metering', carry, ...(carry === 'money' ? { trueUpMonth: 12 } : { surplusPerKwh: 0.04 }) },
});

describe('lines of surplus energy', () => {
  test.each(
    ['none', 'kwh', 'money'].flatMap((carry) =>
      [false, true].flatMap((inBlocks) => [0.2, 3].map((soldKwh) => [carry, inBlocks, soldKwh] as const)),
    ),
  )('carry %s, in blocks %s, %d kWh sold an hour at noon', (carry, inBlocks, soldKwh) => {
    const importKwh = new Float64Array(axis.intervals).fill(0.3);
    const exportKwh = Float64Array.from({ length: axis.intervals }, (_, i) =>
      i % 24 > 8 && i % 24 < 16 ? soldKwh : 0,
    );
    const bill = billTariff(compileTariff(parseTariff(document(carry, inBlocks)), axis), { importKwh, exportKwh });
    for (const { lines, total } of bill.periods) {
      const surplus = lines.filter(({ part }) => part?.includes('surplus'));
      expect(surplus.length > 0).toBe(carry !== 'money' && soldKwh > 1);
      expect(lines.reduce((sum, { amount }) => sum + amount, 0)).toBeCloseTo(total, 9);
    }
  });
});
