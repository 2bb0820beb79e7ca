import { readNumber } from '../table/numbers.ts';
import type { Shape } from '../table/shape.ts';

/** Of the rows, those in which the price changes within the interval, so that two registers count. */
const SHARED_SHARE = 0.1;

/**
 * Whether columns count one at a time, as registers of price windows do, and more than one of them counts. Circuits and phases run
 * together.
 */
export function countOneAtATime(columns: readonly { readonly column: number }[], shape: Shape): boolean {
  const values = columns.map(({ column }) =>
    shape.rows.map(({ cells }) => readNumber(cells[column] ?? '', shape.decimalComma)),
  );
  // A running total never falls, and is never nothing.
  const energies = values.map((own) =>
    own.every((value, r) => value > 0 && (r === 0 || value >= own[r - 1]!))
      ? own.map((value, r) => (r === 0 ? 0 : value - own[r - 1]!))
      : own,
  );
  let counted = 0;
  let shared = 0;
  for (const r of shape.rows.keys()) {
    const running = energies.filter((own) => own[r]! > 0).length;
    if (running > 0) counted++;
    if (running > 1) shared++;
  }
  const active = energies.filter((own) => own.some((value) => value > 0)).length;
  return active > 1 && shared <= SHARED_SHARE * counted;
}

/** Whether of two one counts at a time, by how often each of them counts, and both do. */
export function countApart(oneTimes: number, otherTimes: number, bothTimes: number): boolean {
  const least = Math.min(oneTimes, otherTimes);
  return least > 0 && bothTimes <= SHARED_SHARE * least;
}
