import { makeAxis } from '@duskbank/core/axis';
import { expect, test } from 'vitest';
import { takenByHours } from '../../../packages/core/src/outage/inside.ts';
import { plainPlant } from '../../support/homes-plain.ts';

const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 30, intervals: 96, zone: 'Etc/UTC' });
const islandLoadKwh = Float64Array.from({ length: 96 }, (_, i) => (i >= 90 ? 1 : 0.1));
const plant = plainPlant({ capacityKwh: 40, dischargeEfficiency: 1 });

test.each([0.5, 1, 3, 24, 47.5, 48])('each stretch of %d h that is whole counts, the last one too', (hours) => {
  const taken = takenByHours({ axis, plant, islandLoadKwh }, hours);
  const steps = 2 * hours;
  const sums = Array.from({ length: 96 - steps + 1 }, (_, from) =>
    islandLoadKwh.slice(from, from + steps).reduce((sum, kwh) => sum + kwh, 0),
  );
  expect(taken).toHaveLength(sums.length);
  for (const [from, kwh] of sums.entries()) expect(taken[from]).toBeCloseTo(kwh, 9);
});

test('none is whole of more hours than there are', () => {
  expect(takenByHours({ axis, plant, islandLoadKwh }, 48.5)).toHaveLength(0);
});
