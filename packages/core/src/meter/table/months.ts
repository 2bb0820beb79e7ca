import { monthOf } from './languages.ts';
import { cellKind } from './numbers.ts';

/** "March 2024", "Mär. 24", "März". */
const NAMED = /^\s*(\p{L}{3,12})\.?[\s\-/.']*(?:(?:19|20)?\d{2})?\s*$/u;
/** "2024-03", "03/2024". */
const NUMBERED = /^\s*(?:(?:19|20)\d{2}[-/.](0?[1-9]|1[0-2])|(0?[1-9]|1[0-2])[-/.](?:19|20)\d{2})\s*$/;

/** Whether most rows are a month and a figure: of a bill or a portal's chart, no readings. */
export function holdsMonths(rows: readonly { readonly cells: readonly string[] }[]): boolean {
  const months = new Set<number>();
  let monthly = 0;
  let filled = 0;
  for (const { cells } of rows) {
    if (cells.every((cell) => cell.trim() === '')) continue;
    filled++;
    const at = cells.findIndex((cell) => monthIn(cell) > 0);
    if (at < 0 || !cells.some((cell, c) => c !== at && isFigure(cell))) continue;
    months.add(monthIn(cells[at]!));
    monthly++;
  }
  return months.size >= 2 && monthly > filled / 2;
}

function monthIn(cell: string): number {
  const name = NAMED.exec(cell)?.[1];
  if (name !== undefined) return monthOf(name);
  const numbered = NUMBERED.exec(cell);
  return numbered === null ? 0 : Number(numbered[1] ?? numbered[2]);
}

function isFigure(cell: string): boolean {
  return cellKind(cell, false) === 'number' || cellKind(cell, true) === 'number';
}
