// Kept answers: see tests/support/kept.ts.
import { backupHours, outageKinds, reliabilityIndices } from '@duskbank/core/outage';
import { expect, test } from 'vitest';
import { drawHome } from '../../laws/outage/homes.ts';
import { keptEach, keptOf } from '../../support/kept.ts';

/** Outages of weeks over data that end inside of one: steps, their blocks, and what a full battery makes of all before it. */
const CAPS = [40, 336, 2000, 1e9];
const LONG = Array.from({ length: 32 }, (_, k) => ({
  seed: 7_000 + k,
  stepMinutes: [15, 30, 60][k % 3] as 15 | 30 | 60,
  intervals: [700, 1024, 1025, 1537, 2047, 2900][k % 6]!,
  capacityKwh: [3, 9, 27, 60][k % 4]!,
  shutdownShare: (k % 3) * 0.1,
  dischargeKw: k % 7 === 0 ? 3 : 30,
  chargeKw: [0, 2, 12][k % 3]!,
  efficiency: k % 2 === 0 ? 0.94 : 1,
  decayPerHour: ([0, 1e-5, 0.01] as const)[(k >> 1) % 3]!,
  standbyW: ([0, 40] as const)[k % 2]!,
  conversionW: 0 as const,
  coupling: k % 2 === 0 ? ('ac' as const) : ('dc' as const),
  loadKw: [0.02, 0.3, 0.8][(k >> 2) % 3]!,
  solarKw: [0, 4, 9][(k >> 3) % 3]!,
  capHours: 1e9 as const,
}));

test.each(LONG.map((drawn, k) => [k, drawn] as const))('hours of long outages of home %d', async (k, drawn) => {
  const { axis, plant, loadKwh, solarKwh, socKwh, startKwh } = drawHome(drawn);
  const calls = Object.fromEntries(
    CAPS.map((capHours) => [
      `at most ${capHours} h`,
      () => [
        backupHours({ axis, plant, loadKwh, solarKwh, socKwh, startKwh, capHours, fullMarginKwh: (k % 2) * 0.02 }),
      ],
    ]),
  );
  expect(await keptEach(calls)).toMatchSnapshot();
});

/** Figures of a utility, on either side of what contradicts itself. */
const FIGURES: Record<string, object> = {
  'one kind': { saifi: 1.2, caidiMinutes: 200 },
  'two kinds': { saifi: 1.2, caidiMinutes: 200, ordinarySaifi: 1, ordinaryCaidiMinutes: 100 },
  'no major events': { saifi: 1, caidiMinutes: 200, ordinarySaifi: 1, ordinaryCaidiMinutes: 200 },
  'as often, shorter': { saifi: 1, caidiMinutes: 200, ordinarySaifi: 1, ordinaryCaidiMinutes: 150 },
  'rarer, as many minutes': { saifi: 1, caidiMinutes: 200, ordinarySaifi: 0.5, ordinaryCaidiMinutes: 400 },
  'rarer, more minutes': { saifi: 1, caidiMinutes: 200, ordinarySaifi: 0.5, ordinaryCaidiMinutes: 400.001 },
  'more often': { saifi: 1, caidiMinutes: 200, ordinarySaifi: 1.001, ordinaryCaidiMinutes: 1 },
  'half of a kind': { saifi: 1, caidiMinutes: 200, ordinarySaifi: 0.5 },
  'the other half': { saifi: 1, caidiMinutes: 200, ordinaryCaidiMinutes: 50 },
  none: { saifi: 0, caidiMinutes: 200 },
  'no minutes': { saifi: 1, caidiMinutes: 0.001 },
  'too few minutes': { saifi: 1, caidiMinutes: 0.0009 },
  'the most': { saifi: 100, caidiMinutes: 100_000, source: 'x'.repeat(200), valueOfLostLoadPerKwh: 10_000 },
  'more than the most': { saifi: 100.1, caidiMinutes: 100_001, source: 'x'.repeat(201), valueOfLostLoadPerKwh: 10_001 },
  'lost load for nothing': { saifi: 1, caidiMinutes: 60, source: '', valueOfLostLoadPerKwh: 0 },
};

test('kinds of outages by the figures of a utility', async () => {
  const calls = Object.entries(FIGURES).map(([name, figures]) => [name, () => outageKinds(figures as never)] as const);
  expect(await keptEach(Object.fromEntries(calls), 2)).toMatchSnapshot();
});

test('indices of no interruption, of one, and of less than a customer', async () => {
  const calls: Record<string, () => unknown> = {
    none: () => reliabilityIndices([], 100),
    'nobody hit': () => reliabilityIndices([{ customers: 0, minutes: 50 }], 100),
    'one in a month': () => reliabilityIndices([{ customers: 30, minutes: 90 }], 100, 720),
    'no customer': () => reliabilityIndices([{ customers: 30, minutes: 90 }], 0.99),
    'no hour': () => reliabilityIndices([{ customers: -1, minutes: -1 }], 1, 0.99),
  };
  for (const [name, call] of Object.entries(calls)) expect(await keptOf(call), name).toMatchSnapshot();
});
