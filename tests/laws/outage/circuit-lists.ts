import { resolveCircuits, resolveOutput } from '@duskbank/core/outage';
import fc from 'fast-check';
import { plantOf } from '../../unit/outage/island-home.ts';

const hour = fc.integer({ min: 0, max: 23 }).map((h) => `${String(h).padStart(2, '0')}:00`);

/** Lists of circuits, with motors and without, at hours and months of their own. */
export const circuits = fc
  .array(
    fc.record(
      {
        watts: fc.integer({ min: 20, max: 6000 }),
        leg: fc.constantFrom('L1' as const, 'L2' as const, '240' as const),
        priority: fc.integer({ min: 1, max: 9 }),
        motor: fc.boolean(),
        times: fc.double({ min: 1, max: 8, noNaN: true }),
        hours: fc.tuple(hour, hour),
        months: fc.uniqueArray(fc.integer({ min: 1, max: 12 }), { minLength: 1, maxLength: 12 }),
        medical: fc.boolean(),
        neverShed: fc.boolean(),
      },
      { requiredKeys: ['watts', 'leg', 'priority', 'motor', 'times'] },
    ),
    { minLength: 1, maxLength: 10 },
  )
  .map((drawn) =>
    resolveCircuits(
      drawn.map(({ motor, times, hours, ...circuit }, k) => ({
        ...circuit,
        name: `circuit ${k}`,
        ...(motor ? { startKva: (circuit.watts * times) / 1000 } : {}),
        ...(hours !== undefined && hours[0] !== hours[1] ? { hours: { from: hours[0], to: hours[1] } } : {}),
      })),
    ),
  );

/** How equipment feeds the two legs. */
export const outputs = fc
  .record({
    kw: fc.double({ min: 1, max: 15, noNaN: true }),
    surge: fc.double({ min: 1, max: 2.5, noNaN: true }),
    arrangement: fc.constantFrom('pooled' as const, 'unit-per-leg' as const, 'one-leg' as const),
  })
  .map(({ kw, surge, arrangement }) =>
    resolveOutput(plantOf({ dischargeLimitKw: kw, inverterKw: kw }), { arrangement, surgeKva: kw * surge }),
  );
