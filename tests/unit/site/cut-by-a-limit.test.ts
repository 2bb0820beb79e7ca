import { makeAxis } from '@duskbank/core/axis';
import { expect, test } from 'vitest';
import { pastFlows } from '../../../packages/core/src/site/past.ts';

// Readings that have bought and sold in one interval: what a limit cuts off is cut from what was read as sold.
const axis = makeAxis({ startEpochMs: Date.UTC(2026, 5, 1), stepMinutes: 60, intervals: 48, zone: 'Etc/UTC' });
const series = (of: (hour: number) => number) => Float64Array.from({ length: 48 }, (_, i) => of(i % 24));
const loadKwh = series(() => 0.5);
const solarKwh = series((hour) => Math.max(0, 5 - Math.abs(hour - 12)));
const importKwh = series((hour) => (hour >= 8 && hour <= 16 ? 0.2 : 0.5));
const exportKwh = solarKwh.map((kwh, i) => Math.max(0, kwh - 0.5 + (kwh > 0 ? importKwh[i]! : 0)));

test.each([0, 0.1, 1, 2.5, 4.5, 10])('a limit of %d kW', (exportLimitKw) => {
  const past = {
    axis,
    channels: { importKwh, exportKwh, loadKwh, solarKwh, bothWaysKwh: 3, loadKnown: true },
    tariff: { metering: 'net' },
    service: { importLimitKw: Number.POSITIVE_INFINITY, exportLimitKw },
  };
  const { netted, read } = pastFlows(past as never);
  for (let i = 0; i < 48; i++) {
    const cut = Math.max(0, solarKwh[i]! - 0.5 - exportLimitKw);
    expect(read.exportKwh[i], `hour ${i}`).toBeCloseTo(Math.max(0, exportKwh[i]! - cut), 9);
    expect(netted.exportKwh[i]).toBeCloseTo(Math.min(exportLimitKw, Math.max(0, solarKwh[i]! - 0.5)), 9);
  }
  expect(read.importKwh).toEqual(importKwh);
});
