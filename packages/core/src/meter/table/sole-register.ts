import type { Kind } from '../readings.ts';
import { keyOf, kindOf, shownText } from './row-kinds.ts';
import type { Shape } from './shape.ts';
import { eachTableRow, type Table } from './table.ts';

/**
 * The register that all rows of a table are of, by a column that says nothing else: `Tarif` with `HT` in every row. It tells
 * no rows apart, but another file of the home may hold the other registers.
 */
export function soleRegister(table: Table, shape: Shape, taken: ReadonlySet<number>): Kind | undefined {
  const named = shape.classes.flatMap((_, c) => {
    const texts = new Set(shape.rows.map(({ cells }) => keyOf(cells[c] ?? '')));
    const [text] = texts;
    const part =
      taken.has(c) || texts.size > 1 || shape.header[c]?.tells !== undefined ? undefined : kindOf(text!).part;
    return part === undefined ? [] : [{ c, text: text!, part }];
  });
  const [only] = named;
  if (only === undefined || named.length > 1) return undefined;
  let isSole = true;
  const firstLine = shape.rows[0]!.line;
  eachTableRow(table, (cells, line) => {
    const text = keyOf(cells[only.c] ?? '');
    if (line >= firstLine && text !== '' && text !== only.text) isSole = false;
  });
  if (!isSole) return undefined;
  return { shown: shownText(shape.rows[0]!.cells[only.c]!), part: only.part, understood: true };
}
