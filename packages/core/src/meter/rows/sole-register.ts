import { knownAs } from '../part.ts';
import type { Kind, Readings } from '../readings.ts';
import { keyOf, kindOf, shownText } from '../table/row-kinds.ts';
import type { Shape } from '../table/shape.ts';
import { eachTableRow, type Table } from '../table/table.ts';
import type { Plan } from './columns.ts';

/** Names the one register that all rows are of, where a column says so that tells no rows apart. */
export function nameRegister({ streams }: Readings, table: Table, shape: Shape, plan: Plan): void {
  const used = streams.filter(({ role }) => role === 'import' || role === 'load');
  if (used.length !== 1 || used[0]!.register !== undefined) return;
  if (plan.types.length > 0) {
    // Beside a direction of its own, a number tells the directions apart.
    if (streams.length === 1 && used[0]!.kind?.byPlace !== undefined) used[0]!.register = used[0]!.kind.byPlace;
    return;
  }
  const { stamp, time, index, end, endTime } = plan.time;
  const columns = plan.values.map(({ column }) => column);
  const taken = new Set([
    stamp,
    time,
    index,
    end,
    endTime,
    plan.unit,
    plan.meter,
    plan.cost,
    ...plan.quality,
    ...columns,
  ]);
  const kind = soleRegister(table, shape, taken);
  if (kind === undefined) return;
  const { part, byPlace } = kind;
  Object.assign(used[0]!, part === undefined ? { kind, register: byPlace } : { kind, part, register: knownAs(part) });
}

/**
 * The register that all rows of a table are of, by a column that says nothing else: `Tarif` with `HT` in every row. It tells
 * no rows apart, but another file of the home may hold the other registers.
 */
function soleRegister(table: Table, shape: Shape, taken: ReadonlySet<number>): Kind | undefined {
  const named = shape.classes.flatMap((_, c) => {
    const texts = new Set(shape.rows.map(({ cells }) => keyOf(cells[c] ?? '')));
    const [text] = texts;
    if (taken.has(c) || texts.size > 1 || shape.header[c]?.tells !== undefined) return [];
    const { part, byPlace } = kindOf(text!);
    // Two letters say little in a column of no known name.
    if (part === undefined && (byPlace === undefined || byPlace.length < 3)) return [];
    return [{ c, text: text!, told: part === undefined ? { byPlace: byPlace! } : { part } }];
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
  return { shown: shownText(shape.rows[0]!.cells[only.c]!), ...only.told, understood: true };
}
