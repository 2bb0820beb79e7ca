import type { Unit } from '../options.ts';
import type { Kind, Role } from '../readings.ts';
import type { Plan } from './columns.ts';

/** Stands in `offset` for a label that prints none. */
export const NO_OFFSET = 32_767;

/** Readings under one header, of one type and meter: one set of labels, a value column each. */
export interface Block {
  plan: Plan;
  role: Role | undefined;
  unit: Unit | undefined;
  kind: Kind;
  /** Which meter of the file, from 1. */
  point: number;
  count: number;
  capacity: number;
  dateId: Int32Array;
  timeMs: Int32Array;
  /** Minutes from UTC. */
  offset: Int16Array;
  line: Int32Array;
  mark: Uint8Array;
  estimated: Uint8Array;
  /** Empty where no column prints an end. */
  endDateId: Int32Array;
  endMs: Float64Array;
  values: Float64Array[];
  anyMark: boolean;
  anyEstimated: boolean;
}

/** An empty block with room for `capacity` rows. */
export function openBlock(plan: Plan, role: Role | undefined, kind: Kind, capacity: number): Block {
  const ends = plan.time.end >= 0 || plan.time.endTime >= 0 || plan.time.bothEnds ? capacity : 0;
  return {
    plan,
    role,
    unit: kind.unit,
    kind,
    point: 1,
    count: 0,
    capacity,
    dateId: new Int32Array(capacity),
    timeMs: new Int32Array(capacity),
    offset: new Int16Array(capacity),
    line: new Int32Array(capacity),
    mark: new Uint8Array(capacity),
    estimated: new Uint8Array(capacity),
    endDateId: new Int32Array(ends),
    endMs: new Float64Array(ends),
    values: plan.values.map(() => new Float64Array(capacity)),
    anyMark: false,
    anyEstimated: false,
  };
}

/** Doubles a block's room. */
export function widen(block: Block): void {
  const wider = <T extends Int32Array | Int16Array | Uint8Array | Float64Array>(from: T): T => {
    const to = new (from.constructor as new (length: number) => T)(from.length * 2);
    to.set(from);
    return to;
  };
  block.capacity *= 2;
  for (const field of ['dateId', 'timeMs', 'line', 'endDateId'] as const) block[field] = wider(block[field]);
  block.offset = wider(block.offset);
  block.mark = wider(block.mark);
  block.estimated = wider(block.estimated);
  block.endMs = wider(block.endMs);
  block.values = block.values.map(wider);
}
