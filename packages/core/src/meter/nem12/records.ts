import type { Unit } from '../options.ts';
import { roleOf } from './registers.ts';

/** A quality method: how a reading came about, and where it is no meter's the number of the way it was made. */
const QUALITY = /^[AEFNSV]\d{0,2}$/i;

/** What may stand behind a blank quality: reason code, description, and when it was updated and loaded. */
const BEHIND_BLANK = [
  /^\d{1,3}$/,
  // Free text: a time in it is the one that should stand behind it.
  /^(?!\d{12,}$)/,
  /^\d{8,14}$/,
  /^\d{8,14}$/,
];
const TIME = BEHIND_BLANK[3]!;

/**
 * How many values a record 300 has, where these are not the `perDay` that its interval length asks for: each value after
 * the first that is missing or too many would stand at another time. Undefined where they are.
 */
export function otherCount(cells: readonly string[], perDay: number): number | undefined {
  const [quality = '', ...behind] = cells.slice(perDay + 2).map((cell) => cell.trim());
  // Behind its quality a description may hold commas; among its values a letter is a cell that is no number.
  if (QUALITY.test(quality)) return undefined;
  const marked = cells.findIndex((cell, k) => k >= 2 && QUALITY.test(cell.trim()));
  if (marked >= 0) return marked - 2;
  const fits = quality === '' && behind.every((cell, k) => cell === '' || BEHIND_BLANK[k]?.test(cell));
  if (cells.length >= perDay + 2 && fits) return undefined;
  let end = cells.length;
  while (end > 2 && (cells[end - 1]!.trim() === '' || TIME.test(cells[end - 1]!.trim()))) end--;
  return end - 2;
}

/**
 * Whether a record 200 tells of energy of no known direction: its unit is one of active energy, or it has neither unit nor
 * suffix. Reactive and apparent power, averages and the like have units of their own.
 */
export function lacksDirection(suffix: string, unit: Unit | undefined): boolean {
  if (roleOf(suffix) !== undefined) return false;
  return unit === undefined ? suffix === '' : suffix === '' || /h$/.test(unit);
}
