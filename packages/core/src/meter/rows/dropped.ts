import { HOUR_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import { Grow } from '../grow.ts';
import { kwhPer } from '../kwh.ts';
import type { Beside, Role } from '../readings.ts';
import { readNumber, readWithUnit } from '../table/numbers.ts';
import { columnName, type Shape } from '../table/shape.ts';
import { eachTableRow, type Table } from '../table/table.ts';
import type { Plan } from './columns.ts';
import { countApart } from './registers.ts';
import { isNamedWhole } from './value-columns.ts';

/** Energy below this share of what is read is no channel that a bill would miss. */
const LEAST_SHARE = 0.001;
/** A relation between columns holds in this share of the rows; the rest are gaps, clock changes, corrections. */
const IN_MOST = 0.98;
/** A part is never above its whole, but for a reading that was corrected. */
const IN_ALL = 0.999;
/** Rows with energy, and as many without, that a sum is tried on, evenly over the file. */
const MOST_ROWS = 600;
/** A register begins anew at a change of the meter, or rolls over: in so small a share of its rows. */
const MOST_FALLS = 0.001;
/** Columns that a sum is looked for among: 3⁷ sums. */
const MOST_SUMMED = 7;

/** A column of numbers, kWh where its header says the unit, else as they are. */
interface NumberColumn {
  readonly column: number;
  readonly values: Float64Array;
  /** Half of the last decimal that it prints. */
  readonly roundingKwh: number;
  readonly role: Role | undefined;
}

/**
 * Asks about columns of energy that are not read, where they hold what no other column tells: no copy of another, no
 * sum or difference of others, no running total, no part of what the home takes. Such a column may be the export, or a
 * second meter; left out in silence it would be missing from every bill.
 *
 * @returns whether it asked
 */
export function asksDropped(table: Table, shape: Shape, plan: Plan, findings: FindingList): boolean {
  if (plan.dropped.length === 0) return false;
  const columns = numbersOf(table, shape, plan, false);
  const readColumns = new Set(plan.values.map(({ column }) => column));
  const mostReadKwh = Math.max(...columns.filter((c) => readColumns.has(c.column)).map(sumOf));
  const left = columns.filter(
    (column) =>
      plan.dropped.includes(column.column) &&
      sumOf(column) > LEAST_SHARE * mostReadKwh &&
      !isTold(
        column,
        columns.filter((other) => other !== column),
        shape,
      ),
  );
  if (left.length === 0) return false;
  findings.add(
    'columns-unclear',
    'error',
    {
      why: 'left-over',
      columns: left
        .slice(0, 12)
        .map((column) => ({ column: columnName(shape, column.column), energyKwh: sumOf(column) })),
      read: plan.values.slice(0, 12).map(({ source }) => source),
      columnNumbers: plan.values.slice(0, 12).map(({ column }) => column + 1),
    },
    { line: shape.headerLine, count: left.length },
  );
  return true;
}

/**
 * Columns of a stated channel's kind that `columns` leaves out: a phase, one of two mains, a register of another
 * price window. None where the stated columns are the sum of the others, or another is the sum of them.
 */
export function besideOf(table: Table, shape: Shape, plan: Plan): Beside[] {
  const isStated = (role: Role) => plan.values.some((value) => value.role === role);
  const [bought] = (['import', 'load'] as const).filter(isStated);
  // A net holds what is sold; beside what is bought alone it is missing altogether.
  const sides = [
    ...(bought === undefined ? [] : [bought]),
    ...(isStated('export') || (isStated('import') && !isStated('net')) ? (['export'] as const) : []),
  ];
  return sides.map((role) => besideSide(table, shape, plan, role)).filter((found) => found !== undefined);
}

function besideSide(table: Table, shape: Shape, plan: Plan, role: Beside['role']): Beside | undefined {
  // "Peak" and "Off-Peak" say no more than each other: where such a column is stated, its like are meant.
  const isNameless = role !== 'export' && plan.values.every(({ column }) => shape.header[column]?.role === undefined);
  const isAlike = (c: number) => {
    const head = shape.header[c];
    if (isNameless && head?.role === undefined && head?.tells === undefined && head?.time === undefined)
      return head?.skip === undefined && c !== plan.time.stamp;
    const isEnergy = head?.unit === undefined || /h$/.test(head.unit);
    const isOfSide = role === 'export' ? head?.role === 'export' : head?.role === 'import' || head?.role === 'load';
    return isOfSide && head?.skip === undefined && isEnergy;
  };
  // Registers have other registers beside them, and what each interval holds the like.
  const registers = plan.values.every(({ cumulative }) => cumulative);
  const wanted = plan.values
    .filter((value) => value.role === role && value.cumulative === registers)
    .map(({ column }) => column);
  const isMissing = role === 'export' && !plan.values.some((value) => value.role === role);
  const taken = plan.values.map(({ column }) => column);
  if (!shape.classes.some((kind, c) => kind === 'number' && isAlike(c) && !taken.includes(c))) return undefined;
  const columns = numbersOf(table, shape, plan, registers);
  const stated = columns.filter(({ column }) => wanted.includes(column));
  if (stated.length === 0 && !isMissing) return undefined;
  const statedKwh = stated.reduce((kwh, column) => kwh + energyOf(column), 0);
  const readKwh = isMissing
    ? columns.reduce((kwh, column) => kwh + (taken.includes(column.column) ? energyOf(column) : 0), 0)
    : statedKwh;
  const left = columns.filter(
    (column) =>
      isAlike(column.column) &&
      !taken.includes(column.column) &&
      energyOf(column) > LEAST_SHARE * readKwh &&
      !isSum(column, stated) &&
      !stated.some((other) => isRunningTotal(column, other)) &&
      !isBehind(column, stated, shape),
  );
  const leftKwh = left.reduce((kwh, column) => kwh + energyOf(column), 0);
  const isTotal =
    stated.length === 1 &&
    Math.abs(leftKwh - statedKwh) <= 0.005 * statedKwh &&
    isSum(stated[0]!, left) &&
    !left.some((column) => isSibling(column, stated[0]!, shape));
  if (left.length === 0 || isTotal) return undefined;
  // A total among them would count twice.
  const parts = left.filter((column) => {
    const othersKwh = statedKwh + leftKwh - energyOf(column);
    return left.length === 1 || Math.abs(energyOf(column) / othersKwh - 1) > 0.005;
  });
  const unitOf = wanted[0] ?? taken[0]!;
  const isWindow = ({ column }: NumberColumn) => shape.header[column]?.part?.kind === 'window';
  const windows = left.filter(isWindow);
  return {
    role,
    columns: left.map((column) => {
      const unit = shape.header[column.column]?.unit;
      const sum = energyOf(column);
      const about = {
        name: columnName(shape, column.column),
        column: unitOf + 1,
        isTotal: !parts.includes(column),
      };
      return unit === undefined ? { ...about, sum } : { ...about, unit, sum: sum / kwhPer(unit, HOUR_MS) };
    }),
    read: plan.values.filter((value) => value.role === role).map(({ source }) => source),
    columnNumbers: [...wanted, ...parts.map(({ column }) => column)].map((c) => c + 1).sort((a, b) => a - b),
    areRegisters:
      (windows.length > 0 &&
        !(stated.length === 1 && !isWindow(stated[0]!) && isPart(sumOfAll(windows), stated[0]!))) ||
      parts.some((column) => stated.some((other) => isSibling(column, other, shape) && takeTurns(column, other))),
  };
}

/** Whether one counts at a time, as registers of price windows do. Circuits and phases run together. */
function takeTurns(one: NumberColumn, other: NumberColumn): boolean {
  const [a, b] = [energiesOf(one), energiesOf(other)];
  const counts = (of: Float64Array) => of.reduce((rows, value) => rows + (value > 0 ? 1 : 0), 0);
  const both = a.reduce((rows, value, i) => rows + (value > 0 && b[i]! > 0 ? 1 : 0), 0);
  return countApart(counts(a), counts(b), both);
}

/** What each row adds: of a register, which hardly ever falls and is hardly ever nothing, by how much it rises. */
function energiesOf({ values }: NumberColumn): Float64Array {
  let falls = 0;
  let empty = 0;
  for (let i = 1; i < values.length; i++) {
    if (values[i]! < values[i - 1]!) falls++;
    if (values[i] === 0) empty++;
  }
  const most = MOST_FALLS * values.length;
  return falls > most || empty > most ? values : values.map((value, i) => (i === 0 ? 0 : value - values[i - 1]!));
}

/** Several columns as one. */
function sumOfAll(columns: readonly NumberColumn[]): NumberColumn {
  const [first] = columns as readonly [NumberColumn];
  return {
    ...first,
    values: first.values.map((_, i) => columns.reduce((sum, { values }) => sum + (values[i]! || 0), 0)),
    roundingKwh: columns.reduce((sum, { roundingKwh }) => sum + roundingKwh, 0),
  };
}

/** Whether a column is a circuit behind the one that is read: that is named as the whole home, and no less in any step. */
function isBehind(column: NumberColumn, stated: readonly NumberColumn[], shape: Shape): boolean {
  const [whole] = stated;
  if (whole === undefined || stated.length > 1 || !isNamedWhole(shape, whole.column)) return false;
  return isPart(column, whole) && !isNamedWhole(shape, column.column);
}

/** Whether two names differ in a number or one letter alone, as "L1" and "L2" do: the one isn't the other's total. */
function isSibling(one: NumberColumn, other: NumberColumn, { names }: Shape): boolean {
  const stem = ({ column }: NumberColumn) => names[column]?.toLowerCase().replace(/(?<![a-z])[a-z](?![a-z])|\d+/g, '#');
  return stem(one)?.includes('#') === true && stem(one) === stem(other);
}

/** All columns of numbers that may take part, or all that are named as registers, row by row. */
function numbersOf(table: Table, shape: Shape, plan: Plan, registers: boolean): NumberColumn[] {
  const { time } = plan;
  const taken = new Set([time.stamp, time.time, time.index, time.end, time.endTime, plan.unit, plan.meter]);
  const wanted = shape.classes.flatMap((kind, c) => {
    const head = shape.header[c];
    const other = head?.skip !== undefined && head.skip !== 'battery';
    return kind === 'number' && !taken.has(c) && !other && (head?.cumulative === true) === registers ? [c] : [];
  });
  const columns = wanted.map((column) => ({ column, grow: new Grow(table.lines), decimals: 0 }));
  const first = shape.rows[0]!.line;
  eachTableRow(table, (cells, line) => {
    if (line < first || (cells[time.stamp] ?? '') === '') return;
    for (const each of columns) {
      const cell = cells[each.column] ?? '';
      const { unit, unitInCells } = shape.header[each.column] ?? {};
      const value = readNumber(cell, shape.decimalComma);
      each.grow.push(
        Number.isNaN(value) && unitInCells === true ? readWithUnit(cell, unit!, shape.decimalComma) : value,
      );
      each.decimals = Math.max(each.decimals, /[.,](\d+)\D*$/.exec(cell)?.[1]?.length ?? 0);
    }
  });
  return columns.map(({ column, grow, decimals }): NumberColumn => {
    const head = shape.header[column];
    const factor = head?.unit !== undefined && /h$/.test(head.unit) ? kwhPer(head.unit, HOUR_MS) : 1;
    const values = grow.view().map((value) => value * factor);
    const role = plan.values.find((value) => value.column === column)?.role;
    return { column, values, roundingKwh: (0.5 * factor) / 10 ** decimals, role };
  });
}

function sumOf({ values }: NumberColumn): number {
  let sum = 0;
  for (const value of values) sum += Math.abs(value) || 0;
  return sum;
}

/** The energy of a column: of a register, which hardly ever falls, by how much it rises. Its readings have no sum. */
function energyOf(column: NumberColumn): number {
  const { values } = column;
  let before = Number.NaN;
  let risen = 0;
  let falls = 0;
  for (const value of values) {
    if (Number.isNaN(value)) continue;
    if (value > before) risen += value - before;
    else if (value < before) falls++;
    before = value;
  }
  return risen > 0 && falls <= MOST_FALLS * values.length ? risen : sumOf(column);
}

/** Whether what a column holds follows from the others. */
function isTold(column: NumberColumn, others: readonly NumberColumn[], shape: Shape): boolean {
  const words = shape.header[column.column]!.words.join(' ');
  const direction = shape.header[column.column]!.role;
  // What comes from the grid may be less than the home uses in every interval, for the sun gives the rest.
  const mayBePart = direction === 'import' && !/\bgrid\b|\bimport\b|\bdelivered\b/.test(words);
  return (
    others.some(
      (other) =>
        isProportional(column, other) ||
        isRunningTotal(column, other) ||
        (isRunningTotal(other, column) && !fallsBack(other)),
    ) ||
    (mayBePart &&
      others.some((other) => (other.role === 'import' || other.role === 'load') && isPart(column, other))) ||
    isSum(column, others)
  );
}

/** Whether one is the other in another unit, or the same again. */
function isProportional({ values: a }: NumberColumn, { values: b }: NumberColumn): boolean {
  let aa = 0;
  let bb = 0;
  let ab = 0;
  for (let i = 0; i < a.length; i++) {
    const product = a[i]! * b[i]!;
    if (Number.isNaN(product)) continue;
    aa += a[i]! * a[i]!;
    bb += b[i]! * b[i]!;
    ab += product;
  }
  return ab > 0 && ab * ab > 0.9995 * aa * bb;
}

/** Whether a column grows from row to row by what the other holds, but where it begins anew. */
function isRunningTotal(total: NumberColumn, { values, roundingKwh }: NumberColumn): boolean {
  const slack = 2 * total.roundingKwh + roundingKwh + 1e-9;
  let pairs = 0;
  let fits = 0;
  for (let i = 1; i < values.length; i++) {
    const step = total.values[i]! - total.values[i - 1]!;
    if (Number.isNaN(step) || step === 0) continue;
    pairs++;
    if (Math.abs(step - values[i]!) <= slack || Math.abs(step - values[i - 1]!) <= slack) fits++;
  }
  return pairs >= 24 && fits >= 0.9 * pairs;
}

/** Whether a total begins anew within the file. */
function fallsBack({ values }: NumberColumn): boolean {
  for (let i = 1; i < values.length; i++) if (values[i]! < values[i - 1]!) return true;
  return false;
}

function isPart({ values: part, roundingKwh }: NumberColumn, whole: NumberColumn): boolean {
  const slack = roundingKwh + whole.roundingKwh + 1e-9;
  let rows = 0;
  let below = 0;
  for (let i = 0; i < part.length; i++) {
    if (!(part[i]! > 0)) continue;
    rows++;
    if (part[i]! <= whole.values[i]! + slack) below++;
  }
  return below >= IN_ALL * rows;
}

/** Whether a column is others added or taken off, as import less export, or what is above zero of that, in most rows. */
function isSum(column: NumberColumn, others: readonly NumberColumn[]): boolean {
  const { values } = column;
  const filled: number[] = [];
  const zero: number[] = [];
  for (let i = 0; i < values.length; i++) if (!Number.isNaN(values[i]!)) (values[i] === 0 ? zero : filled).push(i);
  const rows = [...evenly(filled), ...evenly(zero)];
  const terms = others.slice(0, MOST_SUMMED);
  const slack = column.roundingKwh + terms.reduce((sum, term) => sum + term.roundingKwh, 0) + 1e-9;
  const mostMisses = (1 - IN_MOST) * rows.length;
  for (let code = 0; code < 3 ** terms.length; code++) {
    const signs = terms.map((_, k) => (Math.floor(code / 3 ** k) % 3) - 1);
    if (signs.every((sign) => sign === 0)) continue;
    let misses = 0;
    for (const i of rows) {
      let sum = 0;
      for (let k = 0; k < terms.length; k++) if (signs[k] !== 0) sum += signs[k]! * terms[k]!.values[i]!;
      const value = values[i]!;
      if (!(Math.abs(sum - value) <= slack || Math.abs(Math.max(0, sum) - value) <= slack) && ++misses > mostMisses)
        break;
    }
    if (misses <= mostMisses) return true;
  }
  return false;
}

function evenly(rows: readonly number[]): number[] {
  const every = Math.max(1, Math.floor(rows.length / MOST_ROWS));
  return rows.filter((_, k) => k % every === 0);
}
