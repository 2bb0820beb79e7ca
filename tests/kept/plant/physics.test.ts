// Kept answers: see tests/support/kept.ts.
import { runStrategy } from '@duskbank/core/dispatch';
import {
  executeWithoutPlant,
  hoursAtFullOutput,
  hoursToFill,
  islanded,
  makeFlows,
  plantOnAxis,
  plantPerStep,
  powerLimits,
  resolvePlant,
  usableCapacityKwh,
} from '@duskbank/core/plant';
import { parseSite } from '@duskbank/core/site';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { anyHome, erratic } from '../../support/homes.ts';
import { kept, keptOf } from '../../support/kept.ts';
import { keptSite, seedsFrom } from '../../support/kept-sites.ts';

const HOMES = fc.sample(anyHome, { seed: 20_260_301, numRuns: 60 }).map((home, k) => [k, home] as const);

test.each(HOMES)('flows of plant %d under levels at random', (k, home) => {
  const { plant, axis, loadKwh, solarKwh, service } = home;
  const { capacityKwh, coupling, stepHours } = { ...plant, ...axis };
  const onAxis = plantOnAxis(plant, axis, loadKwh, solarKwh, service);
  const bare = makeFlows(axis.intervals);
  executeWithoutPlant(axis, loadKwh, solarKwh, service, bare);
  const { flows } = runStrategy(erratic(k), home);
  const { axis: _axis, ...perStep } = plantPerStep(plant, axis, service) as { axis?: unknown };
  expect(
    kept(
      {
        what: `${coupling}, ${capacityKwh.toFixed(2)} kWh, ${60 * stepHours} min`,
        flows: { ...flows },
        bare,
        perStep,
        onAxis: { ...onAxis, axis: undefined },
        islanded: islanded(onAxis, { energyShare: 0.85, gaugeErrorKwh: 0.05 * capacityKwh, fullMarginKwh: 0.01 }),
        hours: [hoursAtFullOutput(plant), hoursToFill(plant)],
      },
      k < 12 ? 2 : 1,
    ),
  ).toMatchSnapshot();
});

test.each(seedsFrom(0, 60))('plant of site %d', async (seed) => {
  const { document, home } = keptSite(seed);
  expect(
    await keptOf(() => {
      const { plant } = parseSite(document, 'site.json');
      const reach = typeof plant!.reach === 'object' && 'file' in plant!.reach ? home.loadKwh : undefined;
      return {
        plant: resolvePlant(plant!, reach),
        limits: powerLimits(plant!),
        capacityKwh: usableCapacityKwh(plant!),
      };
    }, 2),
  ).toMatchSnapshot();
});
