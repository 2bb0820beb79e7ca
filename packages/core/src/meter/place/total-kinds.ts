import type { FindingList } from '../findings.ts';
import type { ParseOptions } from '../options.ts';
import type { Readings, Role, Stream } from '../readings.ts';
import { askParts, byPoint, noteAlternative } from './parts.ts';

/** Of the rows with energy: the rest were corrected, or stand in the hour that the clock repeats. */
const MOST_MISSES = 0.005;
/** Of the rows of a total, those that have a part beside them. */
const LEAST_COVERED = 0.9;

/**
 * Holds rows that name themselves a total, without a direction or by statement, against the other rows of their times. A total
 * that is their sum is left out: what it holds counts once, in its parts. Of any other total beside registers it is asked.
 *
 * @returns false, with an error finding, where it asks
 */
export function settleTotalRows(readings: Readings, { channel }: ParseOptions, findings: FindingList): boolean {
  const left = new Set<Stream>();
  let clear = true;
  for (const streams of byPoint(readings.streams))
    for (const total of streams) {
      const open = total.unclear === true || total.kind?.stated === true;
      if (total.kind === undefined || total.total !== true || !open || total.cumulative) continue;
      const others = streams.filter((each) => each.total !== true && each.kind !== undefined && isAlike(each, total));
      const known = others.filter(({ unclear }) => unclear !== true);
      const roles: readonly (readonly Role[])[] = [['import'], ['export'], ['load'], ['solar'], ['import', 'export']];
      const groups = roles
        .map((among) => known.filter(({ role }) => among.includes(role)))
        .concat([others])
        .filter((group) => group.length > 0);
      if (groups.some((group) => isSumOf(total, group))) {
        left.add(total);
        noteAlternative('total-of-parts', total, findings, { line: total.labels.line[0]!, count: total.labels.count });
        continue;
      }
      const registers = known.filter(({ role, part }) => role === total.role && part !== undefined);
      if (registers.length === 0 || channel !== undefined || !clear) continue;
      clear = false;
      const why = holdsLeftOut(total, registers, readings.left) ? 'total-of-left-out' : 'total-differs';
      askParts(why, total.role, [...registers, total], findings);
    }
  readings.streams = readings.streams.filter((stream) => !left.has(stream));
  return clear;
}

/** Whether a total holds as much as the others and the registers that `rows` leaves out. */
function holdsLeftOut(total: Stream, others: readonly Stream[], left: Readings['left'] = []): boolean {
  const sumOf = ({ values }: Stream) => values.reduce((sum, value) => sum + (value || 0), 0);
  const registers = left.filter(
    ({ isRegister, point, column }) => isRegister && point === (total.point ?? 1) && column === total.column,
  );
  const parts = [...others.map(sumOf), ...registers.map(({ sum }) => sum)].reduce((sum, part) => sum + part, 0);
  return registers.length > 0 && Math.abs(parts - sumOf(total)) <= MOST_MISSES * parts;
}

function isAlike(one: Stream, other: Stream): boolean {
  return !one.cumulative && one.unit === other.unit && one.column === other.column;
}

/** Whether in nearly all of its rows a total is what the parts hold together. */
function isSumOf({ labels, values }: Stream, parts: readonly Stream[]): boolean {
  const sums = new Map<number, number>();
  let most = 0;
  for (const part of parts)
    for (let i = 0; i < part.labels.count; i++) {
      const value = part.values[i]!;
      if (Number.isNaN(value)) continue;
      const at = part.labels.labelMs[i]!;
      sums.set(at, (sums.get(at) ?? 0) + value);
      most = Math.max(most, Math.abs(value));
    }
  let rows = 0;
  let covered = 0;
  let live = 0;
  let misses = 0;
  for (let i = 0; i < labels.count; i++) {
    const total = values[i]!;
    if (Number.isNaN(total)) continue;
    rows++;
    const sum = sums.get(labels.labelMs[i]!);
    if (sum === undefined) continue;
    covered++;
    const size = Math.max(Math.abs(sum), Math.abs(total));
    if (size > 0) live++;
    // The same but for rounding: to a hundredth, or to a thousandth of the largest.
    if (Math.abs(sum - total) > Math.max(0.01 * size, 0.001 * most)) misses++;
  }
  return live > 0 && covered >= LEAST_COVERED * rows && misses <= MOST_MISSES * live;
}
