import { DAY_MS } from '../durations.ts';
import { Grow } from '../grow.ts';
import type { Unit } from '../options.ts';
import type { Kind, LeftOut, Role } from '../readings.ts';
import { readNumber, readWithUnit } from '../table/numbers.ts';
import type { Block } from './block.ts';
import type { Plan } from './columns.ts';
import { countApart } from './registers.ts';
import type { ValuePlan } from './value-columns.ts';

/** Rows that the user's words leave out, of one kind and meter, in the order of the file. */
interface LeftRows {
  readonly kind: Kind;
  readonly meter: string;
  readonly at: Grow;
  readonly values: Grow;
  readonly line: number;
}

/** Rows that are read, of one kind and meter. */
export interface ReadRows {
  readonly kind: Kind;
  readonly role: Role;
  /** From 1. */
  readonly point: number;
  readonly at: ArrayLike<number>;
  readonly values: ArrayLike<number>;
}

/** Of the rows of a counter, those that rise at least; what a home draws falls as often. */
const RISING = 0.25;
const MOST_FALLS = 0.001;
/** Falls of a counter that begins anew each day, for each rise. */
const MOST_RESETS = 0.2;
/** Of the rows, those in which a whole is less than its part: corrected readings. */
const MOST_MISSES = 0.005;

/** Keeps what rows hold that the user's words leave out, so that it can be told. */
export class LeftOutRows {
  readonly #rows = new Map<string, LeftRows>();
  readonly #kindIds = new Map<Kind, number>();

  /** @param at what rows of one time have in common */
  see(kind: Kind, meter: string, at: number, value: number, line: number): void {
    const id = this.#kindIds.get(kind) ?? this.#kindIds.size;
    this.#kindIds.set(kind, id);
    const key = `${id}|${meter}`;
    let rows = this.#rows.get(key);
    if (rows === undefined) {
      rows = { kind, meter, at: new Grow(), values: new Grow(), line };
      this.#rows.set(key, rows);
    }
    rows.at.push(at);
    rows.values.push(value);
  }

  /** {@link see}, of a row with one interval. */
  seeRow(kind: Kind, plan: Plan, cells: readonly string[], at: number, line: number, decimalComma: boolean): void {
    const { column, unit, unitInCells } = plan.values[usedValue(plan.values)]!;
    const cell = cells[column] ?? '';
    const value = unitInCells === true ? readWithUnit(cell, unit!, decimalComma) : readNumber(cell, decimalComma);
    this.see(kind, plan.meter < 0 ? '' : (cells[plan.meter] ?? '').trim(), at, value, line);
  }

  /** {@link finish}, of rows with one interval. */
  besideBlocks(blocks: readonly Block[], meters: readonly string[], { values }: Plan): LeftOut[] {
    if (this.#rows.size === 0) return [];
    const read = blocks.map(({ kind, role, point, count, dateId, timeMs, plan, values }): ReadRows => {
      const used = usedValue(plan.values);
      const at = Float64Array.from({ length: count }, (_, i) => dateId[i]! * DAY_MS + timeMs[i]!);
      return { kind, role: role ?? plan.values[used]!.role, point, at, values: values[used]!.subarray(0, count) };
    });
    const { unit, column } = values[usedValue(values)]!;
    return this.finish(meters, read, unit, column + 1);
  }

  /**
   * What was left out, held against what is read of the same meter.
   * @param column of the values, from 1
   */
  finish(meters: readonly string[], read: readonly ReadRows[], unit: Unit | undefined, column: number): LeftOut[] {
    const all = [...this.#rows.values()];
    return all.map((rows): LeftOut => {
      const { kind, meter, line } = rows;
      const point = meters.indexOf(meter) + 1;
      const isRegister = isWindow(kind);
      const beside = isRegister
        ? all.filter((each) => each.meter === meter && isWindow(each.kind) && areOfOneSide(each.kind, kind))
        : [rows];
      const used = read.filter(
        (each) => each.point === point && isLike(each.role, kind.role) && !(isRegister && isWindow(each.kind)),
      );
      const values = stepsOf(rows.values.view());
      const readAt = new Set<number>();
      for (const each of read)
        if (each.point === point && isOfUse(each.role) === (kind.role === undefined || isOfUse(kind.role)))
          for (let i = 0; i < each.values.length; i++) if (!Number.isNaN(each.values[i]!)) readAt.add(each.at[i]!);
      const others = read.filter((each) => each.point === point && areSiblings(each.kind, kind));
      return {
        what: `rows of ${kind.shown}`,
        ...(kind.role === undefined ? {} : { role: kind.role }),
        ...((kind.unit ?? unit) === undefined ? {} : { unit: kind.unit ?? unit! }),
        column,
        point,
        sum: values.reduce((sum, value) => sum + (Math.abs(value) || 0), 0),
        isRegister:
          isRegister || (others.length > 0 && takeTurns(timed(others), timed([viewed(rows.at, rows.values)]))),
        isHeld: used.length > 0 && holds(timed(used), timed(beside.map(({ at, values }) => viewed(at, values)))),
        alone: rows.at.view().reduce((alone, at) => alone + (readAt.has(at) ? 0 : 1), 0),
        line,
        count: rows.values.length,
      };
    });
  }
}

/** Which of the columns of values holds what the home takes; the first where none does. */
function usedValue(values: readonly ValuePlan[]): number {
  return Math.max(
    0,
    values.findIndex(({ role }) => isOfUse(role)),
  );
}

/** Whether a kind of rows is a register of a price window of the grid: what the home takes, or what it sells. */
function isWindow({ part, role }: Kind): boolean {
  return part?.kind === 'window' && role !== 'solar';
}

/** Whether two names differ in a number alone, as "1" and "2" do. */
function areSiblings(one: Kind, other: Kind): boolean {
  const stem = ({ shown }: Kind) => shown.toLowerCase().replace(/\d+/g, '#');
  return other.role !== 'solar' && one.shown !== other.shown && stem(one).includes('#') && stem(one) === stem(other);
}

/** Whether of two kinds of rows one counts at a time, as registers of price windows do. Circuits and phases run together. */
function takeTurns(one: ReadonlyMap<number, number>, other: ReadonlyMap<number, number>): boolean {
  const [a, b] = [one, other].map((sums) => {
    const times = [...sums.keys()];
    const steps = stepsOf(Float64Array.from(sums.values()));
    return new Set(times.filter((_, k) => steps[k]! > 0));
  }) as [Set<number>, Set<number>];
  const both = [...a].filter((at) => b.has(at)).length;
  return countApart(a.size, b.size, both);
}

/** Whether both are of what the home sells, or neither is. */
function areOfOneSide(one: Kind, other: Kind): boolean {
  return (one.role === 'export') === (other.role === 'export');
}

/** Whether what is read may hold rows that say such a thing of themselves, or nothing. */
function isLike(role: Role, left: Role | undefined): boolean {
  if (role === 'net' && left === 'export') return true;
  return isOfUse(role) ? left === undefined || isOfUse(left) : role === left;
}

function isOfUse(role: Role): boolean {
  return role === 'import' || role === 'load' || role === 'net';
}

function viewed(at: Grow, values: Grow): Pick<ReadRows, 'at' | 'values'> {
  return { at: at.view(), values: values.view() };
}

/** Rows of several kinds added up by their times. */
function timed(rows: readonly Pick<ReadRows, 'at' | 'values'>[]): Map<number, number> {
  const sums = new Map<number, number>();
  for (const { at, values } of rows)
    for (let i = 0; i < values.length; i++)
      if (!Number.isNaN(values[i]!)) sums.set(at[i]!, (sums.get(at[i]!) ?? 0) + values[i]!);
  return sums;
}

/** Whether in nearly all times the whole is no less than what may be a part of it. */
function holds(whole: ReadonlyMap<number, number>, part: ReadonlyMap<number, number>): boolean {
  const times = [...part.keys()];
  const parts = stepsOf(Float64Array.from(part.values()));
  const wholes = stepsOf(Float64Array.from(times, (at) => whole.get(at) ?? Number.NaN));
  const most = parts.reduce((most, value) => Math.max(most, Math.abs(value) || 0), 0);
  let live = 0;
  let misses = 0;
  for (let k = 0; k < parts.length; k++) {
    const value = Math.abs(parts[k]!);
    if (!(value > 0)) continue;
    live++;
    // The same but for rounding: to a hundredth, or to a thousandth of the largest. NaN is a miss.
    if (!(Math.abs(wholes[k]!) >= value - Math.max(0.01 * value, 0.001 * most))) misses++;
  }
  return misses <= MOST_MISSES * live;
}

/** What each row adds: the values themselves, or of a counter its steps. */
function stepsOf(values: Float64Array): Float64Array {
  let rises = 0;
  let falls = 0;
  let pairs = 0;
  for (let i = 1; i < values.length; i++) {
    if (Number.isNaN(values[i]! - values[i - 1]!)) continue;
    pairs++;
    if (values[i]! > values[i - 1]!) rises++;
    else if (values[i]! < values[i - 1]!) falls++;
  }
  // Newest first, a counter falls.
  const isBackwards = falls > rises;
  const [up, down] = isBackwards ? [falls, rises] : [rises, falls];
  const countsOn = up > 0 && down <= MOST_FALLS * pairs;
  const countsDays = up >= RISING * pairs && down <= MOST_RESETS * up;
  if (pairs < 2 || (!countsOn && !countsDays)) return values;
  const steps = new Float64Array(values.length);
  for (let i = 0; i < values.length; i++) {
    const before = values[isBackwards ? i + 1 : i - 1] ?? Number.NaN;
    // A counter that begins anew holds what it shows.
    steps[i] = values[i]! < before ? values[i]! : values[i]! - before;
  }
  return steps;
}
