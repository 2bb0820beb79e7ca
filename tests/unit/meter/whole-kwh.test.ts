// kWh without decimals: what cutting them off may take, and when no savings may rest on it.
import { expect, test } from 'vitest';
import { read, table } from '../../support/meter-tables.ts';

const HOURS = Array.from({ length: 1440 }, (_, i) =>
  new Date(Date.UTC(2026, 0, 5) + i * 3_600_000).toISOString().slice(0, 16).replace('T', ' '),
);
/** What a home draws each hour, kWh. */
const use = (i: number) => 0.3 + (i % 7) * 0.1 + (i % 24 > 17 ? 1.4 : 0);
const rows = (of: (i: number) => number) =>
  table(
    'Start,Usage (kWh)',
    HOURS.map((label, i) => `${label},${of(i)}`),
  );
const told = (text: string, billedKwh?: number) =>
  read(text, billedKwh === undefined ? {} : { billedKwh }).findings.find(({ code }) => code === 'whole-kwh');

test('whole kWh are told and withhold, unless a bill agrees or the energy is far above it', () => {
  const cut = rows((i) => Math.floor(use(i)));
  const energyKwh = HOURS.reduce((kwh, _, i) => kwh + Math.floor(use(i)), 0);
  // Half a kWh for each of 1,440 hours.
  expect(told(cut)).toMatchObject({ severity: 'warning', data: { energyKwh, lostKwh: 720, withheld: true } });
  expect(told(cut, energyKwh * 1.01)).toMatchObject({ data: { withheld: false } });
  expect(told(rows((i) => (i % 10 === 0 ? 0 : 12)))).toMatchObject({ data: { withheld: false } });
});

test('decimals, a running total, and hours that are all above one kWh are no sign of it', () => {
  expect(told(rows((i) => Math.round(use(i) * 10) / 10))).toBeUndefined();
  expect(told(rows((i) => Math.floor(5000 + i * 0.7)))).toBeUndefined();
  expect(told(rows((i) => 3 + (i % 4)))).toBeUndefined();
});
