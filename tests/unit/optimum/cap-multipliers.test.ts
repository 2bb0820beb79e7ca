// Where rounding lets the decisions of two steps contradict each other, each step keeps to its own.
import { expect, test } from 'vitest';
import type { Schedule, ValueBounds } from '../../../packages/core/src/dispatch/optimum/forward.ts';
import { capMultipliers } from '../../../packages/core/src/dispatch/optimum/multipliers.ts';
import type { StepProblem } from '../../../packages/core/src/dispatch/optimum/problem.ts';

const all = (n: number, value: number) => new Float64Array(n).fill(value);

/** Steps that discharge down to a cap, half full all the while: so much is a kWh under each cap worth, at a price of 0.1. */
function worthOf(
  atLeast: readonly number[],
  atMost: readonly number[],
  prefer: number,
  more: Partial<StepProblem> = {},
  socKwh: Float64Array = all(atLeast.length, 5),
) {
  const n = atLeast.length;
  const problem = {
    intervals: n,
    lowKwh: all(n, 0),
    highKwh: all(n, 10),
    floorKwh: all(n, 0),
    decay: 0,
    initialKwh: 5,
    finalValuePerKwh: 0.5,
    netLoadKwh: all(n, 2),
    importPricePerKwh: all(n, 0.1),
    importCapKwh: all(n, 1),
    overCapPerKwh: all(n, 9),
    chargeEfficiency: 1,
    dischargeEfficiency: 1,
    wearPerKwh: 0,
    ...more,
  } as unknown as StepProblem;
  const schedule = {
    socKwh,
    chargeKwh: all(n, 0),
    dischargeKwh: all(n, 1),
    curtailedKwh: all(n, 0),
  } as unknown as Schedule;
  const bounds = { atLeast: Float64Array.from(atLeast), atMost: Float64Array.from(atMost) } as ValueBounds;
  const out = new Float64Array(n);
  capMultipliers(problem, schedule, bounds, undefined, prefer, out);
  return [...out].map((multiplier) => multiplier + 0.1);
}
const close = (values: readonly number[]) => values.map((value) => expect.closeTo(value, 12));

test('steps that agree share one value: that of what is left at the end', () => {
  for (const prefer of [0, 1]) expect(worthOf([0.2, 0.3, 0], [0.9, 0.9, 0.9], prefer)).toEqual(close([0.5, 0.5, 0.5]));
});

test('steps that contradict each other keep to what each of them decided', () => {
  // Later steps ask for 0.5 and 0.3 at most, the first for 0.4 at least.
  for (const prefer of [0, 1]) expect(worthOf([0.4, 0.1, 0.5], [1, 0.3, 0.9], prefer)).toEqual(close([0.4, 0.3, 0.5]));
});

test('what is lost on the way makes an earlier kWh worth less, but for an empty store', () => {
  const free = [
    [0, 0, 0],
    [9, 9, 9],
  ] as const;
  for (const prefer of [0, 1])
    expect(worthOf(...free, prefer, { decay: 0.1, initialKwh: 0 })).toEqual(close([0.405, 0.45, 0.5]));
});

test('past a full store the value may rise: the lowest that fits is the first step’s own, or the last one’s', () => {
  const full = Float64Array.of(10, 5);
  expect(worthOf([0.2, 0], [0.9, 0.9], 0, {}, full)).toEqual(close([0.2, 0.5]));
  expect(worthOf([0.2, 0], [0.9, 0.9], 1, {}, full)).toEqual(close([0.5, 0.5]));
});

test('past an empty store the value may fall: the highest that fits is the first step’s own, or the last one’s', () => {
  const empty = Float64Array.of(0, 5);
  expect(worthOf([0.2, 0], [0.8, 0.9], 0, {}, empty)).toEqual(close([0.5, 0.5]));
  expect(worthOf([0.2, 0], [0.8, 0.9], 1, {}, empty)).toEqual(close([0.8, 0.5]));
});
