import { type IslandOutput, overloadsOf, planCarry, type ResolvedCircuit } from '@duskbank/core/outage';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { circuits, outputs } from './circuit-lists.ts';

const wider = (output: IslandOutput, factor: number): IslandOutput => ({
  ...output,
  continuousVa: output.continuousVa * factor,
  legVa: output.legVa * factor,
  surgeVa: output.surgeVa * factor,
  legSurgeVa: output.legSurgeVa * factor,
});

const softer = (circuit: ResolvedCircuit): ResolvedCircuit => ({
  ...circuit,
  startVa: Math.max(circuit.runningVa, circuit.startVa * 0.4),
});

describe('what runs together', () => {
  test('what is carried together never overloads anything, and what is left out would', () => {
    fc.assert(
      fc.property(circuits, outputs, (listed, output) => {
        const plan = planCarry(listed, output);
        expect(overloadsOf(plan.together, output)).toEqual([]);
        expect(plan.totalVa).toBeLessThanOrEqual(output.continuousVa + 1e-6);
        expect(plan.startVa).toBeLessThanOrEqual(output.surgeVa + 1e-6);
        for (const { circuit, verdict, overloads } of plan.verdicts) {
          expect(overloads.length > 0).toBe(verdict !== 'together');
          expect(overloadsOf([circuit], output).length > 0).toBe(verdict === 'never');
        }
        // Nobody is lost, and a medical circuit is asked first.
        expect(plan.verdicts).toHaveLength(listed.length);
        const medical = plan.verdicts.map(({ circuit }) => circuit.medical);
        expect(medical).toEqual([...medical].sort((a, b) => Number(b) - Number(a)));
      }),
      { numRuns: 300, seed: 20260120 },
    );
  });

  test('one circuit less, a softer start or more output never makes an overload', () => {
    let fitting = 0;
    fc.assert(
      fc.property(circuits, outputs, fc.double({ min: 1, max: 3, noNaN: true }), (listed, output, factor) => {
        if (overloadsOf(listed, output).length > 0) return;
        fitting++;
        expect(overloadsOf(listed.slice(1), output)).toEqual([]);
        expect(overloadsOf(listed.map(softer), output)).toEqual([]);
        expect(overloadsOf(listed, wider(output, factor))).toEqual([]);
      }),
      { numRuns: 2000, seed: 20260121 },
    );
    expect(fitting).toBeGreaterThan(100);
  });
});
