// Kept answers: see tests/support/kept.ts.
import {
  backupHours,
  islandAdditions,
  movingFloor,
  rechargeHours,
  reserveBySituation,
  simulateOutage,
  sliceBackup,
  summarizeBackup,
  summarizeReserve,
  survivalCurve,
  unservedAt,
  worstStarts,
} from '@duskbank/core/outage';
import { islanded, plantPerStep } from '@duskbank/core/plant';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { circuits } from '../../laws/outage/circuit-lists.ts';
import { drawHome, homes } from '../../laws/outage/homes.ts';
import { kept, keptEach } from '../../support/kept.ts';

const ANY = fc
  .sample(fc.tuple(homes, circuits), { seed: 20_260_707, numRuns: 60 })
  .map(([home, list], k) => [k, { ...home, intervals: 24 + (home.intervals % 500) }, list] as const);

test.each(ANY)('hours and outages of home %d on an island', (k, drawn, list) => {
  const home = drawHome(drawn);
  const { axis, plant, loadKwh, solarKwh, socKwh, startKwh } = home;
  const n = axis.intervals;
  const coldSteps = Uint8Array.from({ length: n }, (_, i) => (k % 3 === 0 && i % 37 < 12 ? 1 : 0));
  const margins = { energyShare: k % 2 === 0 ? 1 : 0.8, gaugeErrorKwh: (k % 4) * 0.1, coldSteps };
  const outageOf = { axis, plant, loadKwh, solarKwh };
  const hours = backupHours({
    ...outageOf,
    socKwh,
    startKwh,
    capHours: drawn.capHours,
    fullMarginKwh: 0.05,
    ...margins,
  });
  const every = (i: number) => i % (1 + (k % 3)) === 0;
  const played = Object.fromEntries(
    [
      { atFull: 'taper', circuits: list },
      { atFull: 'trip', reconnectMinutes: 7, restartKwh: 0.3 },
      { atFull: 'trip', circuits: list, restartKwh: 0.05 * plant.capacityKwh },
      { atFull: 'taper' },
    ].map((how, s) => [
      `outage ${s}`,
      simulateOutage({
        ...outageOf,
        ...(how as { atFull: 'taper' | 'trip' }),
        ...margins,
        start: (s * 17) % n,
        startSocKwh: socKwh[(s * 17) % n]!,
        hours: 6 + 20 * s,
      }),
    ]),
  );
  expect(
    kept(
      {
        hours,
        summary: summarizeBackup(axis, hours, Math.min(drawn.capHours, 400)),
        reserve: summarizeReserve(plant, socKwh),
        slices: sliceBackup(axis, hours),
        survival: survivalCurve(hours, [1, 4, 12, 48], every),
        unserved: unservedAt(axis, hours, loadKwh, [1, 4, 12, 48]),
        worst: worstStarts(axis, hours, 4, every),
        additions: islandAdditions(islanded(plantPerStep(plant, axis), margins), loadKwh, solarKwh),
        recharge: rechargeHours({
          ...outageOf,
          service: { importLimitKw: 8, exportLimitKw: 5 },
          from: n >> 2,
          fromKwh: plant.shutdownKwh,
          toKwh: 0.9 * plant.capacityKwh,
        }),
        situations: reserveBySituation({
          axis,
          plant,
          socKwh,
          peakSteps: Uint8Array.from({ length: n }, (_, i) => (i % 24 >= 17 ? 1 : 0)),
          eventSteps: Uint8Array.from({ length: n }, (_, i) => (i % 100 === 7 ? 1 : 0)),
          stormMonths: [6],
        }),
        ...played,
      },
      k < 10 ? 2 : 1,
    ),
  ).toMatchSnapshot();
});

const RESERVES = {
  months: { byMonth: [{ months: [6, 12], share: 0.6 }] },
  hours: { byHour: [{ from: '21:00', to: '06:00', share: 0.5 }] },
  'hours of load': { keepHours: 5 },
  planned: {
    planned: [
      { from: '2026-06-02T09:00', to: '2026-06-02T15:00', noticeHours: 12 },
      { from: '2026-06-02T14:00', to: '2026-06-03T01:00', noticeHours: 6 },
    ],
  },
  'all of it': {
    byMonth: [{ months: [6], share: 0.3 }],
    byHour: [{ from: '18:00', to: '22:00', share: 0.2 }],
    keepHours: 2,
    planned: [{ from: '2026-06-04T00:00', to: '2026-06-04T20:00', noticeHours: 24 }],
  },
};

test.each(Object.entries(RESERVES))('floors that keep %s', async (_name, reserve) => {
  const calls: Record<string, () => unknown> = {};
  for (const [k, drawn] of ANY.slice(0, 12)) {
    const { axis, plant, loadKwh } = drawHome({ ...drawn, intervals: 200 });
    calls[`home ${k}`] = () =>
      movingFloor({ axis, plant, reserve, islandLoadKwh: loadKwh, energyShare: 0.9, gaugeErrorKwh: 0.1 } as never);
  }
  expect(await keptEach(calls)).toMatchSnapshot();
});
