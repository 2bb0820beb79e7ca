// A circuit is told to fit on the other leg only where nothing else loses its place there.
import { circuits } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { outageStudy } from '../../support/outage-study.ts';

// Each of two legs carries 6 kVA.
const pump = { name: 'Pump', watts: 4000, leg: 'L1', priority: 1 };
const kiln = { name: 'Kiln', watts: 4000, leg: 'L1', priority: 2 };
const reasonsOf = (...more: object[]) =>
  circuits(outageStudy({ circuits: [pump, kiln, ...more] }))
    .circuits.find(({ name }) => name === 'Kiln')!
    .reasons.join('; ');

test('with room on the other leg, that is said', () => {
  expect(reasonsOf()).toContain('on L2 it would fit');
});

test('where it would take the place of a circuit there, it isn’t', () => {
  const reasons = reasonsOf({ name: 'Workshop', watts: 4000, leg: 'L2', priority: 3 });
  expect(reasons).toContain('on L1');
  expect(reasons).not.toContain('would fit');
});
