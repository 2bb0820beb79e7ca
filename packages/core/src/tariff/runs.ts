import { MOST_KWH } from './flows.ts';

/** Stretches of intervals in one group: run r is `[starts[r], starts[r + 1])`, of `groups[r]`. */
export interface Runs {
  readonly starts: Int32Array;
  readonly groups: Int32Array;
}

/** The runs of a group array; with `day`, cut where a new day begins. */
export function findRuns(group: Int32Array, day?: Int32Array): Runs {
  const starts: number[] = [];
  const groups: number[] = [];
  let last = -2;
  for (let i = 0; i < group.length; i++) {
    if (group[i] === last && (day === undefined || day[i] === day[i - 1])) continue;
    last = group[i]!;
    starts.push(i);
    groups.push(last);
  }
  starts.push(group.length);
  return { starts: Int32Array.from(starts), groups: Int32Array.from(groups) };
}

/** Whether each averaging block lies whole in one run: then no block has to be put together from two. */
export function blocksFit(runs: Runs, averagingSteps: number, phaseSteps: number): boolean {
  if (averagingSteps === 1) return true;
  const { starts } = runs;
  for (let r = 0; r < starts.length; r++) if ((starts[r]! - phaseSteps) % averagingSteps !== 0) return false;
  return true;
}

/** The highest sum of a block of so many steps in `[from, to)`, which holds whole blocks. */
export function highestBlock(values: Float64Array, from: number, to: number, steps: number): number {
  let highest = 0;
  if (steps === 1) {
    // Two running maxima are faster than one: a comparison needn't wait for the one before.
    let other = 0;
    let i = from;
    for (; i + 1 < to; i += 2) {
      if (values[i]! > highest) highest = values[i]!;
      if (values[i + 1]! > other) other = values[i + 1]!;
    }
    if (i < to && values[i]! > highest) highest = values[i]!;
    return Math.max(highest, other);
  }
  // Half hours and hours of 15-minute data without an inner loop: twice as fast.
  if (steps === 2) {
    for (let i = from; i < to; i += 2) {
      const sum = values[i]! + values[i + 1]!;
      if (sum > highest) highest = sum;
    }
    return highest;
  }
  if (steps === 4) {
    for (let i = from; i < to; i += 4) {
      const sum = values[i]! + values[i + 1]! + values[i + 2]! + values[i + 3]!;
      if (sum > highest) highest = sum;
    }
    return highest;
  }
  for (let i = from; i < to; i += steps) {
    let sum = 0;
    for (let k = i; k < i + steps; k++) sum += values[k]!;
    if (sum > highest) highest = sum;
  }
  return highest;
}

/** Sum of `values[i] · prices[i]` over `[from, to)`, by four running sums: faster than one, and always in the same order. */
export function sumOfProducts(values: Float64Array, prices: Float64Array, from: number, to: number): number {
  let a = 0;
  let b = 0;
  let c = 0;
  let d = 0;
  let i = from;
  for (; i + 3 < to; i += 4) {
    a += values[i]! * prices[i]!;
    b += values[i + 1]! * prices[i + 1]!;
    c += values[i + 2]! * prices[i + 2]!;
    d += values[i + 3]! * prices[i + 3]!;
  }
  for (; i < to; i++) a += values[i]! * prices[i]!;
  return a + b + (c + d);
}

/** {@link sumOfProducts} of all energies; NaN where one of them is no energy of an interval: a look on the way costs half of a pass of its own. */
export function moneyOfEnergies(kwh: Float64Array, prices: Float64Array): number {
  let a = 0;
  let b = 0;
  let c = 0;
  let d = 0;
  let i = 0;
  for (; i + 3 < kwh.length; i += 4) {
    const first = kwh[i]!;
    const second = kwh[i + 1]!;
    const third = kwh[i + 2]!;
    const fourth = kwh[i + 3]!;
    if (!(first >= 0 && second >= 0 && third >= 0 && fourth >= 0)) return Number.NaN;
    if (!(first < MOST_KWH && second < MOST_KWH && third < MOST_KWH && fourth < MOST_KWH)) return Number.NaN;
    a += first * prices[i]!;
    b += second * prices[i + 1]!;
    c += third * prices[i + 2]!;
    d += fourth * prices[i + 3]!;
  }
  for (; i < kwh.length; i++) {
    const last = kwh[i]!;
    if (!(last >= 0 && last < MOST_KWH)) return Number.NaN;
    a += last * prices[i]!;
  }
  return a + b + (c + d);
}
