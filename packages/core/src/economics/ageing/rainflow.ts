import { check, series } from '../../input/door.ts';

/** One cycle of a series, whole or half. */
export interface Cycle {
  /** Between its lowest and its highest point, in the unit of the series. */
  readonly range: number;
  readonly mean: number;
  /** 1, or 0.5 for a half cycle. */
  readonly count: number;
  /** Indices of its two turning points, the earlier first. */
  readonly from: number;
  readonly to: number;
}

/**
 * Cycles of a series by rainflow counting, as a battery’s wear is reckoned from its state of charge: a small swing within a large one
 * is a cycle of its own, and the large one stays whole.
 *
 * Of three turning points in a row, the range of the first two is a cycle once the next is as wide: a half one where it
 * holds the start of the series, else a whole one, and its points are taken out. What is left at the end are half cycles.
 *
 * @param values of any length; in a run of equal ones the first counts
 * @returns cycles in the order in which they close, half ones of the rest last; none of a series that never turns or moves
 * @throws InputError
 * @see ASTM E1049-85 (2017), section 5.4.4
 */
export function rainflow(values: Float64Array): Cycle[] {
  check({ values }, { values: series({ length: null }) });
  const cycles: Cycle[] = [];
  const cycle = (from: number, to: number, count: number) => {
    const a = values[from]!;
    const b = values[to]!;
    cycles.push({ range: Math.abs(a - b), mean: (a + b) / 2, count, from, to });
  };
  /** Turning points that belong to no cycle yet. */
  const open: number[] = [];
  for (const point of turningPoints(values)) {
    open.push(point);
    while (open.length >= 3) {
      const [first, second, third] = open.slice(-3) as [number, number, number];
      const before = Math.abs(values[first]! - values[second]!);
      if (Math.abs(values[second]! - values[third]!) < before) break;
      if (open.length === 3) {
        cycle(first, second, 0.5);
        open.shift();
      } else {
        cycle(first, second, 1);
        open.splice(-3, 2);
      }
    }
  }
  for (let k = 1; k < open.length; k++) cycle(open[k - 1]!, open[k]!, 0.5);
  return cycles;
}

/** Indices where a series turns, its two ends among them. */
function turningPoints(values: Float64Array): number[] {
  const points: number[] = [];
  let rising = 0;
  let last = 0;
  for (let i = 1; i < values.length; i++) {
    const way = Math.sign(values[i]! - values[last]!);
    if (way === 0) continue;
    if (way !== rising) points.push(last);
    rising = way;
    last = i;
  }
  if (points.length > 0) points.push(last);
  return points;
}
