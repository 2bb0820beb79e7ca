import { makeAxis } from '@duskbank/core/axis';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';

test('an event is told from a window that has its name', () => {
  // Two days of hours; the event is on the second, from 12 to 14 h, beside a window of its name from 16 to 20 h.
  const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 48, zone: 'Etc/UTC' });
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Plain',
    currency: 'USD',
    windows: [
      { name: 'critical', from: '16:00', to: '20:00', pricePerKwh: 0.4, kind: 'peak' },
      { name: 'rest', otherwise: true, pricePerKwh: 0.2 },
    ],
    events: [{ name: 'critical', dates: ['2026-01-06'], from: '12:00', to: '14:00', adderPerKwh: 0.5 }],
  });
  const { windows, window } = compileTariff(tariff, axis);
  const hours = Array.from(window, (w, i) => (windows[w]!.event === true ? i : -1)).filter((i) => i >= 0);
  expect(hours).toEqual([24 + 12, 24 + 13]);
  expect(windows.filter(({ name }) => name === 'critical')).toHaveLength(2);
});
