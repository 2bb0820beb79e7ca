import type { FindingList } from '../findings.ts';
import type { ColumnMap, ColumnRef, ParseOptions, Unit } from '../options.ts';
import { isNumbered, type Part } from '../part.ts';
import type { Role } from '../readings.ts';
import { otherThanMeter, unitOf } from '../table/header.ts';
import { isBlank, readNumber } from '../table/numbers.ts';
import { columnName, findColumn, type Shape } from '../table/shape.ts';
import { refuseBothWays } from './both-ways.ts';
import { isNamedTotal, placedRegister, registerIn, registersOf } from './register-columns.ts';
import { countOneAtATime } from './registers.ts';

/** A column of values and what it measures. */
export interface ValuePlan {
  column: number;
  role: Role;
  weak: boolean;
  unit: Unit | undefined;
  cumulative: boolean;
  /** Each cell prints its unit behind the value. */
  unitInCells?: boolean;
  part: Part | undefined;
  /** The register that the name of a stated column tells of. */
  register?: string;
  /** Called consumption, and read as load because it stands beside generation. */
  gross?: boolean;
  /** One of several columns of the same figure in other steps: its readings are the rows in which it isn't blank. */
  own?: boolean;
  source: string;
}

export function isValueRole(key: string): key is Role {
  return key === 'import' || key === 'export' || key === 'load' || key === 'solar' || key === 'net';
}

export function statedValues(shape: Shape, columns: ColumnMap, findings: FindingList): ValuePlan[] | undefined {
  const values: ValuePlan[] = [];
  let bad = false;
  for (const role of ['import', 'export', 'load', 'solar', 'net'] as const) {
    const refs = [columns[role] ?? []].flat() as readonly ColumnRef[];
    if (refuseBothWays(shape, columns, role, refs, findings)) bad = true;
    for (const ref of refs) {
      const column = findColumn(shape, ref, role, findings);
      if (column < 0) bad = true;
      else if (values.some((value) => value.column === column)) {
        findings.add('column-twice', 'error', { column: columnName(shape, column) }, { key: String(column) });
        bad = true;
      } else {
        const head = shape.header[column];
        values.push({
          column,
          role,
          weak: false,
          unit: head?.unit,
          cumulative: head?.cumulative ?? false,
          ...(head?.unitInCells === true ? { unitInCells: true } : {}),
          part: refs.length > 1 ? { id: String(ref), kind: 'stated' } : undefined,
          ...registerOf(shape, column),
          source: columnName(shape, column),
        });
      }
    }
  }
  return bad ? undefined : values;
}

/** Refuses columns of apparent or reactive energy. */
export function refuseInactive(shape: Shape, columns: readonly number[], findings: FindingList): void {
  const { inactive, unitInCells } = shape.header[columns[0]!]!;
  findings.add(
    'not-active-energy',
    'error',
    {
      quantity: inactive!,
      columns: columns.slice(0, 12).map((column) => columnName(shape, column)),
      // Where the cells print the unit themselves, no word about the column mends them.
      ...(unitInCells === true ? {} : { columnNumbers: columns.slice(0, 12).map((column) => column + 1) }),
    },
    unitInCells === true ? { line: shape.rows[0]!.line } : { line: shape.headerLine },
  );
}

function registerOf({ header }: Shape, column: number): { register?: string } {
  const register = header[column] && registerIn(header[column]);
  return register === undefined ? {} : { register };
}

/** A register by its place, with a unit of energy. */
function registerColumn(shape: Shape, column: number): ValuePlan {
  const { unit } = shape.header[column]!;
  const id = placedRegister(shape, column)!;
  const source = columnName(shape, column);
  return { column, role: 'import', weak: true, unit, cumulative: false, part: { id, kind: 'window' }, source };
}

/** Numbers, from 1, of columns that hold some and are none of the time. */
function numbersIn({ classes, header }: Shape, taken: ReadonlySet<number>): number[] {
  return classes.flatMap((kind, c) =>
    kind === 'number' && !taken.has(c) && header[c]?.time === undefined && header[c]?.skip !== 'cost' ? [c + 1] : [],
  );
}

/** Columns to read, and those with a unit of energy that aren't. */
export interface FoundValues {
  readonly values: ValuePlan[];
  readonly dropped: readonly number[];
}

export function foundValues(
  shape: Shape,
  options: ParseOptions,
  taken: ReadonlySet<number>,
  findings: FindingList,
): FoundValues | undefined {
  const named: ValuePlan[] = [];
  const nameless: number[] = [];
  const inactive: number[] = [];
  const others: number[] = [];
  const placed: number[] = [];
  for (let c = 0; c < shape.width; c++) {
    if (taken.has(c)) continue;
    if (placedRegister(shape, c) !== undefined) {
      placed.push(c);
      continue;
    }
    const kind = shape.classes[c];
    const head = shape.header[c];
    if (head?.skip === 'battery' && kind === 'number')
      findings.add('battery-in-data', 'warning', { column: columnName(shape, c) }, { key: String(c) });
    if (head?.inactive !== undefined && kind === 'number') inactive.push(c);
    if (kind !== 'number' && !(kind === 'blank' && head?.role !== undefined)) continue;
    if (head === undefined || (head.words.length === 0 && shape.names.length === 0)) nameless.push(c);
    else if (head.skip !== undefined || head.tells !== undefined || head.time !== undefined) continue;
    else if (head.role !== undefined)
      named.push({
        column: c,
        role: head.role,
        weak: head.weak === true,
        unit: head.unit,
        cumulative: head.cumulative === true,
        ...(head.unitInCells === true ? { unitInCells: true } : {}),
        part: head.part,
        source: columnName(shape, c),
      });
    else others.push(c);
  }
  // Nothing says that the home took active energy: what it took may stand in the column of apparent energy alone.
  const isAllSent = named.every(({ role }) => role === 'export' || role === 'solar');
  // "Rate 1" may be a price beside what was bought.
  if (isAllSent)
    for (const c of placed) {
      const { unit } = shape.header[c]!;
      if (unit === undefined || !isEnergy({ unit })) others.push(c);
      else named.push(registerColumn(shape, c));
    }
  if (inactive.length > 0 && nameless.length + others.length === 0 && isAllSent) {
    refuseInactive(shape, inactive, findings);
    return undefined;
  }
  if (named.length === 0) {
    const total = others.filter((c) => !placed.includes(c));
    const isTotal = total.length === 1 && isNamedTotal(shape, total[0]!);
    const candidates = nameless.length > 0 ? nameless : isTotal ? total : others;
    const holds = otherThanMeter(shape.names);
    if (holds !== undefined) {
      findings.add('not-meter-data', 'error', { holds, columnNumbers: numbersIn(shape, taken) });
      return undefined;
    }
    const registers = isTotal ? undefined : registersOf(shape, taken);
    if (registers !== undefined) {
      findings.add('columns-unclear', 'error', { why: 'registers', ...registers }, { line: shape.headerLine });
      return undefined;
    }
    if (candidates.length === 1) {
      const column = candidates[0]!;
      const role = options.channel ?? 'import';
      if (options.channel === undefined)
        findings.add('channel-assumed', 'warning', { why: 'lone-column', column: columnName(shape, column) });
      const value: ValuePlan = {
        column,
        role,
        weak: true,
        unit: undefined,
        cumulative: false,
        // Whatever it measures: another file of the home may hold the other registers.
        part: shape.header[column]?.part,
        ...registerOf(shape, column),
        source: columnName(shape, column),
      };
      return { values: [value], dropped: [] };
    }
    findings.add(
      'columns-unclear',
      'error',
      candidates.length === 0
        ? { why: 'no-energy', columnNumbers: numbersIn(shape, taken) }
        : { why: 'unnamed', columnNumbers: candidates.slice(0, 20).map((c) => c + 1) },
    );
    return undefined;
  }
  // Beside what is sold or made alone, a column without a known word is what was bought: nothing of it must get lost in silence.
  if (others.length > 0 && isAllSent) {
    const columnNumbers = others.slice(0, 20).map((c) => c + 1);
    findings.add('columns-unclear', 'error', { why: 'unnamed', columnNumbers });
    return undefined;
  }
  const unknown = [...others, ...nameless].map((c) => columnName(shape, c));
  return chooseValues(named, unknown, shape, options, findings);
}

/** Of columns that look alike the one that is named as the whole and that no other exceeds; undefined where none is. */
function wholeOf(group: readonly ValuePlan[], shape: Shape): ValuePlan | undefined {
  const named = group.filter(({ column }) => isNamedWhole(shape, column));
  const [whole] = named;
  if (whole === undefined || named.length > 1) return undefined;
  const valueAt = (cells: readonly string[], { column }: ValuePlan) =>
    readNumber(cells[column] ?? '', shape.decimalComma) || 0;
  const above = shape.rows.filter(({ cells }) =>
    group.some((value) => value !== whole && valueAt(cells, value) > valueAt(cells, whole) * 1.001),
  );
  return above.length <= shape.rows.length / 50 ? whole : undefined;
}

/** Whether a column's name says that it measures all that the home takes. */
export function isNamedWhole({ header }: Shape, column: number): boolean {
  return /\b(?:mains?|total|whole|facility|building|grid)\b/.test(header[column]?.words.join(' ') ?? '');
}

/** Whether a column's unit is one of energy. */
function isEnergy({ unit }: Pick<ValuePlan, 'unit'>): boolean {
  return unit !== undefined && /h$/.test(unit);
}

/** "Load" without a unit, beside a consumption that states one of energy, is some other figure: it may not take its place. */
function withoutVagueLoad(named: readonly ValuePlan[]): readonly ValuePlan[] {
  if (!named.some((value) => value.role === 'import' && value.weak && isEnergy(value))) return named;
  return named.filter((value) => value.role !== 'load' || value.unit !== undefined);
}

/** Among columns of the same role: parts of a whole are added, else the one with the clearest name is read. */
function chooseValues(
  all: readonly ValuePlan[],
  unknown: readonly string[],
  shape: Shape,
  options: ParseOptions,
  findings: FindingList,
): FoundValues | undefined {
  const sums = sumColumns(all, shape);
  const named = withoutVagueLoad(all).filter((value) => !sums.includes(value));
  const has = (role: Role) => named.some((value) => value.role === role && !value.weak);
  // Beside gross solar, with neither import nor export named, "consumption" is what the home used.
  if (has('solar') && !has('import') && !has('export') && !has('load'))
    for (const value of named)
      if (value.weak && /\bconsum|\bgc\b|\bcl\b/.test(shape.header[value.column]!.words.join(' '))) {
        value.role = 'load';
        value.weak = false;
        value.gross = true;
      }
  // What a German meter supplies goes to the home where nothing else is bought, and to the grid beside what is.
  const supplied = named.filter((value) => value.role === 'import' && saysAny(value, shape, /\bsupplied\b/));
  if (!has('export') && named.some((v) => v.role === 'import' && !v.weak && !supplied.includes(v)))
    for (const value of supplied) value.role = 'export';
  if (options.channel !== undefined && named.length === 1 && named[0]!.weak) named[0]!.role = options.channel;
  const chosen: ValuePlan[] = [];
  for (const role of ['import', 'export', 'load', 'solar', 'net'] as const) {
    let group = named.filter((value) => value.role === role);
    if (group.length === 0) continue;
    // A power is no register: "Peak kW" is the highest, and "High" and "Low" are what it lay between.
    for (const value of group) if (value.unit !== undefined && !/h$/.test(value.unit)) value.part = undefined;
    const strong = group.filter((value) => !value.weak);
    if (strong.length > 0) {
      // Words such as "power" beside a named direction are other figures of the same row.
      group = strong;
    } else if (role === 'import' && (has('load') || has('net')) && group.every((value) => value.part === undefined))
      continue;
    const energies = group.filter((value) => value.unit === undefined || isEnergy(value));
    if (energies.length > 0 && energies.length < group.length && group.every((value) => value.part === undefined))
      group = energies;
    const deltas = group.filter((value) => !value.cumulative);
    if (deltas.length > 0) group = deltas;
    if (group.length > 1 && areAlternatives(group, shape)) {
      for (const value of group) {
        value.own = true;
        value.unit ??= unitBeside(shape, value.column);
      }
      chosen.push(...group);
      continue;
    }
    if (group.length > 1) {
      const numbered = group.filter(({ part }) => part !== undefined && isNumbered(part));
      if (!countOneAtATime(numbered, shape)) for (const value of numbered) value.part = undefined;
      const parts = group.filter((value) => value.part !== undefined);
      const whole = group.filter((value) => value.part === undefined);
      const name = (value: ValuePlan) => shape.header[value.column]!.words.join(' ');
      if (whole.length === 1 && parts.length > 0 && /\btotal\b/.test(name(whole[0]!))) group = whole;
      else if (whole.length === 1 && parts.length > 0 && parts.every((value) => value.part?.kind === 'circuit')) {
        // "Usage" and "controlled load": the latter is a circuit with a register of its own, added below.
        whole[0]!.part = { id: 'general', kind: 'other' };
      } else if (parts.length < group.length) {
        const withUnit = group.filter(
          (value) =>
            value.unit !== undefined && /\b(?:total|usage|consumption|import|export|net|facility)\b/.test(name(value)),
        );
        const facility = group.filter((value) => /\b(?:total|facility|whole)\b/.test(name(value)));
        if (facility.length === 1) group = facility;
        else if (withUnit.length === 1) group = withUnit;
        else {
          const whole = wholeOf(group, shape);
          findings.add(
            'columns-unclear',
            'error',
            {
              why: 'alike',
              columns: group.slice(0, 12).map(({ source }) => source),
              columnNumbers: group.slice(0, 12).map(({ column }) => column + 1),
              role,
              ...(whole === undefined ? {} : { whole: whole.source, wholeNumber: whole.column + 1 }),
              ...(countOneAtATime(group, shape) ? { byTurns: true as const } : {}),
            },
            { key: role },
          );
          return undefined;
        }
      }
    }
    if (group.length > 1)
      findings.add('registers-added', 'note', { columns: group.map(({ source }) => source), role }, { key: role });
    chosen.push(...group);
  }
  const ignored = [...all.filter((value) => !chosen.includes(value)).map(({ source }) => source), ...unknown];
  if (ignored.length > 0)
    findings.add('columns-ignored', 'note', {
      columns: ignored.slice(0, 12),
      others: Math.max(0, ignored.length - 12),
    });
  if (chosen.length === 0) {
    findings.add('columns-unclear', 'error', { why: 'no-energy', columnNumbers: all.map(({ column }) => column + 1) });
    return undefined;
  }
  const dropped = all.filter(
    (value) => isEnergy(value) && !value.cumulative && !chosen.includes(value) && !sums.includes(value),
  );
  return { values: chosen, dropped: dropped.map(({ column }) => column) };
}

/** Whether a column's name has one of some words. */
function saysAny({ column }: ValuePlan, shape: Shape, words: RegExp): boolean {
  return words.test(shape.header[column]!.words.join(' '));
}

/**
 * Columns of what has come together so far in a day, a week or a month ("Summe Tag"), beside one of what each interval
 * holds. Beside a register of the night, "total day" is the other register.
 */
function sumColumns(all: readonly ValuePlan[], shape: Shape): readonly ValuePlan[] {
  if (all.some((value) => saysAny(value, shape, /\b(?:night|low|offpeak)\b/))) return [];
  const isSum = (value: ValuePlan) => {
    const words = shape.header[value.column]!.words;
    return (
      words.some((word) => /^(?:total|sum|so far)$/.test(word)) &&
      words.some((word) => /^(?:day|daily|week|weekly|month|monthly)$/.test(word))
    );
  };
  const home = (role: Role) => (role === 'load' || role === 'net' ? 'import' : role);
  return all.filter(
    (value) => isSum(value) && all.some((other) => home(other.role) === home(value.role) && !isSum(other)),
  );
}

/** Columns of the same name that aren't filled by the same rows: two resolutions side by side. */
function areAlternatives(group: readonly ValuePlan[], shape: Shape): boolean {
  const name = shape.header[group[0]!.column]!.words.join(' ');
  if (group.some((value) => shape.header[value.column]!.words.join(' ') !== name)) return false;
  const filled = group.map((value) => shape.rows.filter((row) => !isBlank(row.cells[value.column] ?? '')).length);
  return Math.min(...filled) < Math.max(...filled) * 0.75;
}

/** The unit that the next units column to the right prints. */
function unitBeside(shape: Shape, column: number): Unit | undefined {
  const at = shape.header.findIndex((cell, c) => c > column && cell.tells === 'unit');
  if (at < 0) return undefined;
  for (const row of shape.rows) {
    const unit = unitOf(row.cells[at] ?? '');
    if (unit !== undefined) return unit;
  }
  return undefined;
}
