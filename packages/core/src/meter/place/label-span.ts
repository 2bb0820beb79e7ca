import type { Labels } from '../readings.ts';

/** The earliest and the latest label, ms on the labels' own clock; the wrong way round where there are none. */
export function spanOf({ labelMs, count }: Pick<Labels, 'labelMs' | 'count'>): [from: number, to: number] {
  let from = Number.POSITIVE_INFINITY;
  let to = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < count; i++) {
    const label = labelMs[i]!;
    if (label < from) from = label;
    if (label > to) to = label;
  }
  return [from, to];
}
