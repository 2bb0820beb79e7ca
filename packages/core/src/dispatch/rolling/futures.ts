import type { Axis } from '../../axis/index.ts';

/** Where the local half days begin: the futures' values are kept at these. */
export interface HalfDays {
  /** Half day of each interval. */
  readonly of: Int32Array;
  /** First interval of each; one entry more, the axis' end. */
  readonly first: readonly number[];
}

/** The local half days of an axis. */
export function halfDays(axis: Axis): HalfDays {
  const { day, minuteOfDay } = axis.calendar;
  const of = new Int32Array(axis.intervals);
  const first: number[] = [];
  let last = -1;
  for (let i = 0; i < axis.intervals; i++) {
    const half = 2 * day[i]! + (minuteOfDay[i]! >= 720 ? 1 : 0);
    if (half !== last) first.push(i);
    last = half;
    of[i] = first.length - 1;
  }
  first.push(axis.intervals);
  return { of, first };
}

/** Calls back for each local day's part of `[from, end)`. */
export function eachDay(
  axis: Axis,
  from: number,
  end: number,
  visit: (day: number, first: number, last: number) => void,
): void {
  const { day, days } = axis.calendar;
  for (let i = from; i < end; ) {
    const d = day[i]!;
    const last = Math.min(end, days[d]!.firstInterval + days[d]!.intervals);
    visit(d, i, last);
    i = last;
  }
}

/** Standard normal numbers from a seed (mulberry32, Box–Muller). */
export function seededNormal(seed: number): () => number {
  let state = seed | 0;
  const uniform = () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), t | 61)) ^ t;
    return (((t ^ (t >>> 14)) >>> 0) + 0.5) / 4294967296;
  };
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}
