import { followSheet, type SettingsSheet } from '@duskbank/core/dispatch';
import { InputError } from '@duskbank/core/input';
import { expect, test } from 'vitest';

const sheet = (from: string, to: string): SettingsSheet => ({
  gridChargeKw: 3,
  schedules: [{ months: [1], days: 'every day', charge: null, chargeToPercent: 0, discharge: null }],
  reservePercent: 20,
  dated: [{ reservePercent: 80, when: { from, to } }],
});

test.each([
  ['soon', '2026-08-12T18:00'],
  ['2026-13-45T09:00', '2026-08-12T18:00'],
  ['2026-08-12T09:00', ''],
])('a reserve from "%s" to "%s" is refused: it would hold at no time', (from, to) => {
  expect(() => followSheet(sheet(from, to))).toThrow(InputError);
});

test('one from a local time to another is taken', () => {
  expect(() => followSheet(sheet('2026-08-12T09:00', '2026-08-12T18:00'))).not.toThrow();
});
