import { resolveCircuits, simulateOutage } from '@duskbank/core/outage';
import { expect, test } from 'vitest';
import { axisOf, plantOf, series } from './island-home.ts';

test.each([{ neverShed: true }, { medical: true }])(
  'a neutral shared with a circuit that must stay keeps the other on too: %o',
  (kept) => {
    const circuits = resolveCircuits([
      { name: 'Left counter', watts: 500, leg: 'L1', priority: 9, shedBelow: 0.5, sharedNeutralWith: 'Right counter' },
      { name: 'Right counter', watts: 500, leg: 'L2', priority: 3, ...kept },
      { name: 'Pool pump', watts: 1000, leg: 'L1', priority: 10, shedBelow: 0.5 },
    ]);
    const axis = axisOf(24, 60);
    const outage = simulateOutage({
      axis,
      plant: plantOf(),
      loadKwh: series(24, 1),
      solarKwh: series(24, 0),
      circuits,
      start: 0,
      startSocKwh: 10,
      hours: 24,
    });
    // 10 kWh: 2 kW down to 5 kWh (2.5 h), then the pair's 1 kW for 5 h more.
    const lost = Object.fromEntries(outage.circuits.map(({ name, firstLossHours }) => [name, firstLossHours]));
    expect(lost['Pool pump']).toBeCloseTo(2.5, 9);
    expect(lost['Left counter']).toBeCloseTo(7.5, 9);
    expect(lost['Right counter']).toBeCloseTo(7.5, 9);
  },
);
