/** Stretches of intervals in one group: run r is `[starts[r], starts[r + 1])`, of `groups[r]`. */
export interface Runs {
  readonly starts: Int32Array;
  readonly groups: Int32Array;
}

// A group array never changes once it is compiled, and is asked for its runs at every bill.
const known = new WeakMap<Int32Array, Runs>();

/** The runs of a group array, found once. */
export function runsOf(group: Int32Array): Runs {
  let runs = known.get(group);
  if (runs === undefined) {
    const starts: number[] = [];
    const groups: number[] = [];
    let last = -2;
    for (let i = 0; i < group.length; i++) {
      if (group[i] === last) continue;
      last = group[i]!;
      starts.push(i);
      groups.push(last);
    }
    starts.push(group.length);
    runs = { starts: Int32Array.from(starts), groups: Int32Array.from(groups) };
    known.set(group, runs);
  }
  return runs;
}

/**
 * Whether each averaging block lies whole in one run of a group, so that peaks need no look at the edges.
 */
export function blocksFit(group: Int32Array, averagingSteps: number, phaseSteps: number): boolean {
  if (averagingSteps === 1) return true;
  const { starts } = runsOf(group);
  for (let r = 0; r < starts.length; r++) if ((starts[r]! - phaseSteps) % averagingSteps !== 0) return false;
  return true;
}

/** The highest sum of a block of so many steps in `[from, to)`, which holds whole blocks. */
export function highestBlock(values: Float64Array, from: number, to: number, steps: number): number {
  let highest = 0;
  if (steps === 1) {
    for (let i = from; i < to; i++) if (values[i]! > highest) highest = values[i]!;
    return highest;
  }
  for (let i = from; i < to; i += steps) {
    let sum = 0;
    for (let k = i; k < i + steps; k++) sum += values[k]!;
    if (sum > highest) highest = sum;
  }
  return highest;
}

/** Sum of `values[from … to)`: four running sums, added up at the end, always in the same order. */
export function sumOf(values: Float64Array, from: number, to: number): number {
  let a = 0;
  let b = 0;
  let c = 0;
  let d = 0;
  let i = from;
  for (; i + 3 < to; i += 4) {
    a += values[i]!;
    b += values[i + 1]!;
    c += values[i + 2]!;
    d += values[i + 3]!;
  }
  for (; i < to; i++) a += values[i]!;
  return a + b + (c + d);
}

/** Sum of `values[i] · prices[i]` over `[from, to)`, as {@link sumOf} adds. */
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
