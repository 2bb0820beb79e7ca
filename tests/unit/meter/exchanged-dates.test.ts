// Dates of which a spreadsheet exchanged some, and labels of UTC that don't say so.
import { parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';

const pad = (value: number) => String(value).padStart(2, '0');

/** Hours from a day on, each day's date written by its own rule. */
function hours(fromMs: number, count: number, label: (at: Date) => string): string {
  const rows = Array.from(
    { length: count },
    (_, i) => `${label(new Date(fromMs + i * 3_600_000))},${(0.3 + (i % 5) / 10).toFixed(1)}`,
  );
  return ['Start,Usage kWh', ...rows].join('\n');
}
const time = (at: Date) => `${pad(at.getUTCHours())}:00`;
const codes = (text: string, zone = 'Europe/Berlin', options = {}) =>
  parseIntervalData(text, { zone, ...options }).findings.flatMap(({ code, severity }) =>
    severity === 'error' ? [code] : [],
  );

describe('dates with day and month exchanged up to the twelfth', () => {
  const from = Date.UTC(2024, 2, 1);
  const dayFirst = (at: Date) => `${pad(at.getUTCDate())}/${pad(at.getUTCMonth() + 1)}/2024`;
  const exchanged = (at: Date) => `${at.getUTCMonth() + 1}/${at.getUTCDate()}/2024`;

  test.each([
    ['without zeros before', exchanged],
    ['with them', (at: Date) => `${pad(at.getUTCMonth() + 1)}/${pad(at.getUTCDate())}/2024`],
  ])('are refused, stated order or not: %s', (_, swap) => {
    const text = hours(from, 60 * 24, (at) => `${(at.getUTCDate() <= 12 ? swap : dayFirst)(at)} ${time(at)}`);
    const { series, findings } = parseIntervalData(text, { zone: 'Europe/Berlin' });
    expect(series).toBeUndefined();
    expect(findings.find(({ code }) => code === 'date-order-unclear')?.data).toEqual({ why: 'exchanged' });
    expect(codes(text, 'Europe/Berlin', { dateOrder: 'day-first' })).toEqual(['date-order-unclear']);
  });

  test('are no such thing where all have one order, newest first too', () => {
    for (const label of [dayFirst, exchanged]) {
      const text = hours(from, 60 * 24, (at) => `${label(at)} ${time(at)}`);
      expect(codes(text)).toEqual([]);
      const [header, ...rows] = text.split('\n');
      expect(codes([header, ...rows.reverse()].join('\n'))).toEqual([]);
    }
  });
});

describe('labels that follow no clock change', () => {
  const iso = (at: Date) => `${at.toISOString().slice(0, 10)} ${time(at)}`;

  test('are asked about where UTC makes whole days of them and standard time none', () => {
    const text = hours(Date.UTC(2024, 1, 29, 23), 60 * 24 - 1, iso);
    expect(codes(text)).toEqual(['clock-unclear']);
    for (const clock of ['utc', 'standard', 'local'] as const)
      expect(codes(text, 'Europe/Berlin', { clock })).toEqual([]);
  });

  test('are standard time where that makes whole days', () => {
    expect(codes(hours(Date.UTC(2024, 2, 1), 60 * 24, iso))).toEqual([]);
  });
});
