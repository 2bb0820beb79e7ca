import {
  hold,
  homeOnAxis,
  none,
  peakShave,
  runStrategy,
  type Strategy,
  selfConsumption,
  windowFill,
} from '@duskbank/core/dispatch';
import { makeLevels } from '@duskbank/core/plant';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { anyHome, erratic } from '../../support/homes.ts';
import { expectPhysics } from '../../support/physics.ts';

describe('in every interval of every run', () => {
  const strategies: [string, (seed: number) => Strategy][] = [
    ['none', () => none],
    ['hold', () => hold],
    ['self-consumption', () => selfConsumption],
    ['window', () => windowFill],
    ['peak-shave, learned', () => peakShave()],
    ['peak-shave, given', () => peakShave({ targetKw: 1.5 })],
    ['levels drawn at random', erratic],
  ];
  test.each(strategies)('energy balances, storage adds up and stays in its band: %s', (_name, strategy) => {
    fc.assert(
      fc.property(anyHome, fc.nat(), (home, seed) => {
        const run = runStrategy(strategy(seed), home);
        expectPhysics(home, run);
      }),
      { seed: 20260101, numRuns: 150 },
    );
  });
});

test('none is the home as it is, to the bit', () => {
  fc.assert(
    fc.property(anyHome, (home) => {
      const { flows } = runStrategy(none, home);
      for (let i = 0; i < home.axis.intervals; i++) {
        const net = home.loadKwh[i]! - home.solarKwh[i]!;
        expect(flows.importKwh[i]! + flows.unservedKwh[i]!).toBe(Math.max(net, 0));
        expect(flows.exportKwh[i]! + flows.curtailedKwh[i]!).toBeCloseTo(Math.max(-net, 0), 12);
        expect(flows.chargeKwh[i]! + flows.dischargeKwh[i]! + flows.socKwh[i]!).toBe(0);
      }
    }),
    { seed: 20260102, numRuns: 50 },
  );
});

test('surplus that would be curtailed is stored first, whatever the level says', () => {
  fc.assert(
    fc.property(anyHome, (home) => {
      const levels = makeLevels(home.axis.intervals);
      const never: Strategy = {
        name: 'never store',
        knowledge: 'causal',
        begin: () => ({
          plan(_from, _soc, given) {
            given.solarChargeToKwh.fill(Number.NEGATIVE_INFINITY);
            return levels.importCapKw.length;
          },
        }),
      };
      const { flows } = runStrategy(never, home);
      const { plant, axis, service } = home;
      const draw = ((plant.conversionW ?? 0) / 1000) * axis.stepHours;
      const { netKwh } = homeOnAxis(home);
      for (let i = 0; i < axis.intervals; i++) {
        const curtailed = flows.curtailedKwh[i]!;
        if (curtailed <= 1e-9) continue;
        const limit = plant.coldSteps?.[i] === 1 ? 0 : plant.chargeLimitKw * axis.stepHours;
        const isFull = flows.socKwh[i]! > plant.capacityKwh - draw - 1e-9;
        const atLimit = flows.chargeKwh[i]! > limit - 1e-9;
        // Nothing is begun that would store no more than it draws, or whose draw the service refuses.
        const idles = draw > 0 && flows.chargeKwh[i] === 0;
        const isLittle = Math.min(curtailed - draw, limit) <= draw + 1e-9;
        const isRefused = netKwh[i]! + draw > service.importLimitKw * axis.stepHours;
        expect(
          isFull || atLimit || (idles && (isLittle || isRefused)),
          `interval ${i} curtails while there is room`,
        ).toBe(true);
      }
    }),
    { seed: 20260103, numRuns: 100 },
  );
});
