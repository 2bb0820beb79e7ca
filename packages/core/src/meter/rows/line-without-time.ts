import { quoteCell } from '../../input/cell.ts';
import type { Role } from '../readings.ts';
import { directionOf, readHeader } from '../table/header.ts';
import { looksLikeHeader } from '../table/shape.ts';
import type { TimePlan } from './time-columns.ts';
import { isTotalsRow } from './totals.ts';

/**
 * What a row without a time is: nothing, a header, a totals row, a banner that names a direction, or unreadable.
 *
 * @param time the cell in which the time should stand, where it has a column of its own: a sum of a day has its word there
 */
export function lineWithoutTime(
  cells: readonly string[],
  time = '',
): 'blank' | 'header' | 'total' | 'unreadable' | { role: Role | 'gas' } {
  let filled = 0;
  let text = '';
  for (const cell of cells)
    if (cell.trim() !== '') {
      filled++;
      if (filled === 1) text = cell;
    }
  if (filled === 0) return 'blank';
  if (isTotalsRow(text) || isTotalsRow(time)) return 'total';
  if (filled >= 2 && looksLikeHeader(cells) && cells.some((cell) => readHeader(cell).time !== undefined))
    return 'header';
  if (filled <= 2) {
    const role = directionOf(cells.join(' '));
    if (role !== undefined) return { role };
  }
  return 'unreadable';
}

/** What may be quoted of a row's date and time. */
export function quoteTime(cells: readonly string[], time: TimePlan): string | undefined {
  const date = cells[time.stamp] ?? '';
  return (
    (time.time < 0 ? undefined : quoteCell(`${date} ${cells[time.time] ?? ''}`, 'time')) ?? quoteCell(date, 'time')
  );
}
