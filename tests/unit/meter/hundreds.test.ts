import { parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';

const DAYS = 6;
const kwh = (i: number) => ((i * 37) % 90) / 100 + 0.05;
const rows = (hour: (h: number) => number) =>
  Array.from(
    { length: DAYS * 24 },
    (_, i) => `2026-06-0${1 + Math.floor(i / 24)},${hour(i % 24)},${kwh(i).toFixed(2)}`,
  );

// Hours and minutes without a mark (common practice, no source).
test('hours from 0 to 2300 beside a date are read to their hour', () => {
  const text = ['Date,Hour,Usage (kWh)', ...rows((h) => 100 * h)].join('\n');
  const { series } = parseIntervalData(text, { zone: 'Etc/UTC', channel: 'import' });
  expect(series?.axis).toMatchObject({ startEpochMs: Date.UTC(2026, 5, 1), stepMinutes: 60, intervals: DAYS * 24 });
  expect(series?.importKwh?.[25]).toBeCloseTo(kwh(25), 9);
});
