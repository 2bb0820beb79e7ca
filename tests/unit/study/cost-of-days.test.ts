import { makeAxis } from '@duskbank/core/axis';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { costOfDays } from '../../../packages/core/src/study/later.ts';

const FIRST = Date.UTC(2026, 2, 1) / 86_400_000;
const axis = makeAxis({ startEpochMs: Date.UTC(2026, 2, 1), stepMinutes: 60, intervals: 24 * 90, zone: 'Etc/UTC' });
const date = (day: number) => new Date((FIRST + day) * 86_400_000).toISOString().slice(0, 10);

test('bills cost on some days what those of their days with data are of them', () => {
  fc.assert(
    fc.property(
      fc.array(fc.record({ from: fc.integer({ min: -20, max: 100 }), days: fc.integer({ min: 1, max: 40 }) }), {
        maxLength: 4,
      }),
      fc.integer({ min: -5, max: 95 }),
      fc.integer({ min: 0, max: 60 }),
      (spans, firstDay, more) => {
        // A bill that has no day with data is none of ours.
        const own = spans.filter(({ from, days }) => from < 90 && from + days > 0);
        const bills = own.map(({ from, days }, k) => ({
          start: date(from),
          end: date(from + days - 1),
          total: 10 + k,
        }));
        const lastDay = firstDay + more;
        let cost = 0;
        for (const [k, { from, days }] of own.entries()) {
          const held = Array.from({ length: days }, (_, d) => from + d).filter((day) => day >= 0 && day < 90);
          cost += ((10 + k) * held.filter((day) => day >= firstDay && day <= lastDay).length) / held.length;
        }
        expect(costOfDays(bills as never, axis, FIRST + firstDay, FIRST + lastDay)).toBeCloseTo(cost, 9);
      },
    ),
    { numRuns: 300, seed: 11 },
  );
});
