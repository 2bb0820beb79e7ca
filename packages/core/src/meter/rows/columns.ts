import { FindingList } from '../findings.ts';
import type { ParseOptions } from '../options.ts';
import type { Evidence } from '../readings.ts';
import { type HeaderCell, isPrice, readHeader } from '../table/header.ts';
import { typeColumns } from '../table/row-kinds.ts';
import type { Shape } from '../table/shape.ts';
import { planTime, type TimePlan } from './time-columns.ts';
import { foundValues, isValueRole, refuseInactive, statedValues, type ValuePlan } from './value-columns.ts';

/** Which column is what, −1 for none. */
export interface Plan {
  time: TimePlan;
  values: ValuePlan[];
  /** Columns that tell rows apart: type, register, channel, direction. */
  types: number[];
  unit: number;
  meter: number;
  quality: number[];
  cost: number;
  /** Columns with a unit of energy that aren't read, though nobody said to leave them. */
  dropped: readonly number[];
}

/** Decides which column is what, by the user's word, then by names, then by what the cells hold. */
export function planColumns(
  shape: Shape,
  options: ParseOptions,
  findings: FindingList,
  evidence: Evidence,
): Plan | undefined {
  const time = planTime(shape, options, findings, evidence);
  if (time === undefined) return undefined;
  const taken = new Set([time.stamp, time.time, time.index, time.end, time.endTime]);
  const tells = (what: HeaderCell['tells']) =>
    shape.header.findIndex((cell, c) => cell.tells === what && !taken.has(c) && c < shape.width);
  const plan: Plan = {
    time,
    values: [],
    types: typeColumns(shape, taken, 'every row', options, findings),
    unit: tells('unit'),
    meter: tells('meter'),
    // Notes may stand in a field that the header doesn't name and only some rows have.
    quality: shape.classes.flatMap((kind, c) =>
      shape.header[c]?.tells === 'quality' || (kind === 'text' && c >= shape.names.length && shape.names.length > 0)
        ? [c]
        : [],
    ),
    cost: costColumn(shape),
    dropped: [],
  };
  const found =
    options.columns !== undefined && Object.keys(options.columns).some((key) => isValueRole(key))
      ? { values: statedValues(shape, options.columns, findings), dropped: [] }
      : foundValues(
          shape,
          options,
          new Set([...taken, ...plan.types, plan.unit, plan.meter, ...plan.quality]),
          findings,
        );
  const values = found?.values;
  if (values === undefined) return undefined;
  if (asksUnit(shape, values, options, findings)) return undefined;
  plan.values = values;
  plan.dropped = found?.dropped ?? [];
  if (values.some((value) => value.own === true)) plan.unit = -1;
  for (const value of values)
    evidence.push(
      `${value.source} is ${value.role}${value.cumulative ? ', a running total' : ''}${value.unit === undefined ? '' : `, in ${value.unit}`}`,
    );
  return plan;
}

/** The column of what each row cost; −1 where there is none. A price of a kWh is no cost. */
function costColumn({ header, names }: Shape): number {
  return header.findIndex(
    ({ skip, words }, c) =>
      skip === 'cost' && !words.includes('rate') && !words.includes('price') && !isPrice(names[c] ?? ''),
  );
}

/** Asks about values whose header prints a number before the unit, a unit of heat or gas, or no active energy; false where it needn’t ask. */
function asksUnit(shape: Shape, values: readonly ValuePlan[], options: ParseOptions, findings: FindingList): boolean {
  const foreign = values.filter(({ column }) => shape.header[column]?.foreign === true);
  if (foreign.length > 0 && options.unit === undefined) {
    findings.add(
      'unit-unknown',
      'error',
      { why: 'no-energy', columns: foreign.map(({ source }) => source) },
      { line: shape.headerLine, count: foreign.length },
    );
    return true;
  }
  const inactive = values.filter(({ column }) => shape.header[column]?.inactive !== undefined);
  if (inactive.length > 0 && options.unit === undefined) {
    refuseInactive(
      shape,
      inactive.map(({ column }) => column),
      findings,
    );
    return true;
  }
  const asked = values.filter(({ column }) => shape.header[column]?.multiple === true);
  if (asked.length === 0 || options.unit !== undefined) return false;
  findings.add(
    'unit-multiple',
    'error',
    { columns: asked.map(({ source }) => source), unit: asked[0]!.unit! },
    { line: shape.headerLine, count: asked.length },
  );
  return true;
}

/** The plan under a header further down: the same rules, its findings dropped (the first header's stand). */
export function sectionPlan(cells: readonly string[], shape: Shape, options: ParseOptions): Plan | undefined {
  const header = cells.map(readHeader);
  const same = cells.length === shape.names.length && cells.every((cell, c) => cell.trim() === shape.names[c]!.trim());
  const next: Shape = same ? shape : { ...shape, names: cells, header };
  return planColumns(next, options, new FindingList(), []);
}

/** The last column that a row must reach to be whole. */
export function maxColumn(plan: Plan): number {
  let most = plan.time.stamp;
  for (const value of plan.values) most = Math.max(most, value.column);
  return most;
}
